"""What phases laid back from a date mean: their dates, weeks that do not fit, bands of measures."""

from datetime import date, timedelta

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


def hold_from(
    start: date,
    target_date: date,
    cut_weeks: float,
    maintain_weeks: float,
    least_cut_weeks: float,
    least_gain_weeks: float,
) -> date:
    """Return the day a build ends: maintenance, or else the cut, begins on it.

    Lengths in weeks, see ``lay_back``. Without a build it is the start itself.
    """
    layout = _layout(
        start, target_date, cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks
    )
    found = _first_day(layout, "maintain") or _first_day(layout, "cut")
    return target_date if found is None else found


def cut_from(
    start: date,
    target_date: date,
    cut_weeks: float,
    maintain_weeks: float,
    least_cut_weeks: float,
    least_gain_weeks: float,
) -> date:
    """Return the day fat loss begins; the target date itself where none fits (weeks, see above)."""
    layout = _layout(
        start, target_date, cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks
    )
    return _first_day(layout, "cut") or target_date


def missing_weeks(
    start: date,
    target_date: date,
    cut_weeks: float,
    maintain_weeks: float,
    least_cut_weeks: float,
    least_gain_weeks: float,
) -> float:
    """Return the weeks of cut and maintenance that were wanted and do not fit."""
    layout = _layout(
        start, target_date, cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks
    )
    return float(layout.missing_weeks)


def cut_until(start: date, target_date: date, cut_weeks: float) -> date:
    """Return the day fat loss that starts now ends: so many weeks on, or the target date."""
    return min(start + timedelta(weeks=int(require_positive("cut_weeks", cut_weeks))), target_date)


def weight_band(
    from_low_kg: float,
    from_high_kg: float,
    slow_or_fall_kg_per_week: float,
    fast_or_rise_kg_per_week: float,
    weeks: float,
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


def girth_band(
    girth_cm: float,
    weight_kg: float,
    later_low_kg: float,
    later_high_kg: float,
    cm_per_kg: float,
    cm_per_kg_error: float,
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


def weeks_for_change(now_kg: float, wanted_kg: float, pace_kg_per_week: float) -> float:
    """Return the weeks a change of weight takes at a pace of the same direction.

    Raises ``ValueError`` where the pace leads away from what is wanted.
    """
    return require_not_negative("weeks", (wanted_kg - now_kg) / pace_kg_per_week)
