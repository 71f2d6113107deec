"""What phases laid back from a date mean: their dates, weeks that do not fit, bands of measures."""

from datetime import date, timedelta

from assistant.calculate.calculator import (
    COMMON_PRACTICE,
    Cm,
    CmPerKg,
    Kg,
    KgPerWeek,
    Weeks,
    calculator,
)
from assistant.calculate.checks import require_not_negative, require_ordered, require_positive
from assistant.calculate.estimate import Estimate
from assistant.calculate.phases import PhaseLayout, PhaseLengths, lay_back


def _layout(
    start: date,
    target_date: date,
    cut_weeks: float,
    maintain_weeks: float,
    least_cut_weeks: float,
    least_gain_weeks: float,
) -> PhaseLayout:
    # A coach's own settings may cross; the shortest cut is never longer than the wanted one.
    least_cut = min(int(least_cut_weeks), int(cut_weeks))
    lengths = PhaseLengths(int(cut_weeks), int(maintain_weeks), least_cut, int(least_gain_weeks))
    return lay_back(start, target_date, lengths)


def _first_day(layout: PhaseLayout, name: str) -> date | None:
    return next((span.start for span in layout.phases if span.name == name), None)


@calculator("phase.hold_from", "date", COMMON_PRACTICE)
def hold_from(
    start: date,
    target_date: date,
    cut_weeks: Weeks,
    maintain_weeks: Weeks,
    least_cut_weeks: Weeks,
    least_gain_weeks: Weeks,
) -> date:
    """Return the day a build ends: maintenance, or else the cut, begins on it.

    Lengths in weeks, see ``lay_back``. Without a build it is the start itself.
    """
    layout = _layout(
        start, target_date, cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks
    )
    found = _first_day(layout, "maintain") or _first_day(layout, "cut")
    return target_date if found is None else found


@calculator("phase.cut_from", "date", COMMON_PRACTICE)
def cut_from(
    start: date,
    target_date: date,
    cut_weeks: Weeks,
    maintain_weeks: Weeks,
    least_cut_weeks: Weeks,
    least_gain_weeks: Weeks,
) -> date:
    """Return the day fat loss begins; the target date itself where none fits (weeks, see above)."""
    layout = _layout(
        start, target_date, cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks
    )
    return _first_day(layout, "cut") or target_date


@calculator("phase.missing_weeks", "wk", COMMON_PRACTICE)
def missing_weeks(
    start: date,
    target_date: date,
    cut_weeks: Weeks,
    maintain_weeks: Weeks,
    least_cut_weeks: Weeks,
    least_gain_weeks: Weeks,
) -> float:
    """Return the weeks of cut and maintenance that were wanted and do not fit."""
    layout = _layout(
        start, target_date, cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks
    )
    return float(layout.missing_weeks)


@calculator("phase.cut_until", "date", COMMON_PRACTICE)
def cut_until(start: date, target_date: date, cut_weeks: Weeks) -> date:
    """Return the day fat loss that starts now ends: so many weeks on, or the target date."""
    return min(start + timedelta(weeks=int(require_positive("cut_weeks", cut_weeks))), target_date)


@calculator("phase.weight_band", "kg")
def weight_band(
    from_low_kg: Kg,
    from_high_kg: Kg,
    slow_or_fall_kg_per_week: KgPerWeek,
    fast_or_rise_kg_per_week: KgPerWeek,
    weeks: Weeks,
) -> Estimate:
    """Return the weight after some weeks in kg: middle, and the ends of what the pace allows.

    The two paces are the lower and the higher change a week, in any order; a loss is negative. The ends are no
    standard errors.
    """
    require_not_negative("weeks", weeks)
    require_ordered("from_low_kg", from_low_kg, "from_high_kg", from_high_kg)
    slow, fast = sorted((slow_or_fall_kg_per_week, fast_or_rise_kg_per_week))
    low = from_low_kg + slow * weeks
    high = from_high_kg + fast * weeks
    return Estimate((low + high) / 2.0, low, high)


@calculator("phase.girth_band", "cm")
def girth_band(
    girth_cm: Cm,
    weight_kg: Kg,
    later_low_kg: Kg,
    later_high_kg: Kg,
    cm_per_kg: CmPerKg,
    cm_per_kg_error: CmPerKg,
) -> Estimate:
    """Return the girth in cm that goes with a later weight, from a slope between people.

    ``cm_per_kg`` is taken between people (open data of active adults), so its error is wide.
    """
    require_ordered("later_low_kg", later_low_kg, "later_high_kg", later_high_kg)
    slopes = (cm_per_kg - cm_per_kg_error, cm_per_kg + cm_per_kg_error)
    ends = [
        girth_cm + (later - weight_kg) * slope
        for later in (later_low_kg, later_high_kg)
        for slope in slopes
    ]
    middle = girth_cm + ((later_low_kg + later_high_kg) / 2.0 - weight_kg) * cm_per_kg
    return Estimate(middle, min(ends), max(ends))


@calculator("phase.weeks_for_change", "wk")
def weeks_for_change(now_kg: Kg, wanted_kg: Kg, pace_kg_per_week: KgPerWeek) -> float:
    """Return the weeks a change of weight takes at a pace of the same direction.

    Raises ``ValueError`` where the pace leads away from what is wanted.
    """
    return require_not_negative("weeks", (wanted_kg - now_kg) / pace_kg_per_week)
