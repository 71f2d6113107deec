"""Dates and bands of phases: build, maintenance and fat loss laid back from a target date.

A phase runs from its first day up to, and not including, the first day of the next.
"""

import functools
import math
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any, NamedTuple, TypeVar

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

DAYS_PER_WEEK = 7
_Part = TypeVar("_Part", date, float)


class Layout(NamedTuple):
    """First days of maintenance and of fat loss; one without length starts where the next one does.

    ``missing_weeks`` counts wanted weeks of the two that do not fit.
    """

    hold_from: date
    cut_from: date
    missing_weeks: int


@calculator("phase.weeks_between", "wk")
def weeks_between(first_date: date, second_date: date) -> float:
    """Return weeks, with fractions, from the first to the second date."""
    return (second_date - first_date).days / DAYS_PER_WEEK


@calculator("phase.add_weeks", "date")
def add_weeks(first_date: date, weeks: Weeks) -> date:
    """Return the date some weeks after another; a part of a week counts as a whole one.

    Raises ``ValueError`` for a negative number of weeks.
    """
    return first_date + timedelta(weeks=math.ceil(require_not_negative("weeks", weeks)))


def lay_back(
    start: date,
    target_date: date,
    cut_weeks: Weeks,
    maintain_weeks: Weeks,
    least_cut_weeks: Weeks,
    least_gain_weeks: Weeks,
) -> Layout:
    """Lay gain, maintenance and cut back from a target date; lengths count in whole weeks.

    The cut ends on the target date, maintenance comes before it, and all time left from the
    start is the gain. With too little time the gain goes first (its days become maintenance when
    they are fewer than the least gain), then maintenance, then the cut down to its least length (or the
    wanted one, should a coach's own settings cross); below that there is no cut and the whole time is
    maintenance. Raises ``ValueError`` when the target date is not after the start or a length is negative.
    """
    wanted_cut, wanted_hold, least_cut, least_gain = (
        int(require_not_negative("weeks", weeks))
        for weeks in (cut_weeks, maintain_weeks, least_cut_weeks, least_gain_weeks)
    )
    total_days = int(require_positive("days from start to target_date", (target_date - start).days))
    total_weeks = total_days // DAYS_PER_WEEK
    cut = min(wanted_cut, total_weeks)
    if cut < min(least_cut, wanted_cut):
        cut = 0
    cut_from = target_date - timedelta(weeks=cut)
    hold_from = cut_from - timedelta(weeks=min(wanted_hold, total_weeks - cut))
    if hold_from - start < timedelta(weeks=least_gain):
        hold_from = start
    given = cut + (cut_from - hold_from).days // DAYS_PER_WEEK
    return Layout(hold_from, cut_from, max(wanted_cut + wanted_hold - given, 0))


def _part(read: Callable[[Layout], _Part]) -> Callable[..., _Part]:
    """Return a function of the arguments of ``lay_back`` that gives one part of the layout."""

    @functools.wraps(lay_back)
    def part(*given: Any) -> _Part:
        return read(lay_back(*given))

    return part


# The day a build ends; the day fat loss begins, the target date where none fits; and the weeks of
# maintenance and fat loss that were wanted and do not fit.
hold_from = calculator("phase.hold_from", "date", COMMON_PRACTICE)(_part(lambda of: of.hold_from))
cut_from = calculator("phase.cut_from", "date", COMMON_PRACTICE)(_part(lambda of: of.cut_from))
missing_weeks = calculator("phase.missing_weeks", "wk", COMMON_PRACTICE)(
    _part(lambda of: float(of.missing_weeks))
)


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
