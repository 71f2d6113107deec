"""Strength over weeks: each lift's estimated maximum against its own scatter, and all together."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from assistant.calculate.estimate import Estimate
from assistant.calculate.strength import e1rm
from assistant.measure.regression import fit
from assistant.measure.settings import Settings
from assistant.measure.trend import DAYS_PER_WEEK, ninety
from assistant.model.history import TopSet

_WEEKS_BEFORE = 4


@dataclass(frozen=True)
class LiftTrend:
    """How one lift goes. Rates in % a week with a 90 % interval.

    rate: None while there are too few exposures. ready_on: first day it can be told, at the pace
    of logging so far (None where it can already, or nothing tells the pace).
    change_last_week_percent: mean of the last seven days against the four weeks before.
    """

    exercise: str
    exposures: int
    weeks: float
    rate_percent_per_week: Estimate | None
    standard_error: float
    change_last_week_percent: float | None
    ready_on: dt.date | None


@dataclass(frozen=True)
class StrengthTrend:
    """All followed lifts together: means of their rates, each weighed by its certainty.

    exposures, weeks: of the lift with the fewest among those that count.
    """

    lifts: tuple[LiftTrend, ...]
    counted: int
    exposures: int
    weeks: float
    rate_percent_per_week: Estimate | None
    lifts_down: int


def strength_trend(
    top_sets: Sequence[TopSet], since: dt.date, last: dt.date, settings: Settings
) -> StrengthTrend:
    """Return how the lifts logged from a day on go, up to and including a last day."""
    by_exercise: dict[str, dict[dt.date, float]] = {}
    for row in top_sets:
        if since <= row.day <= last and (best := _maximum(row, settings)) is not None:
            days = by_exercise.setdefault(row.exercise, {})
            days[row.day] = max(best, days.get(row.day, 0.0))
    lifts = tuple(
        _lift(exercise, days, last, settings) for exercise, days in sorted(by_exercise.items())
    )
    counted = [lift for lift in lifts if lift.rate_percent_per_week is not None]
    down = sum(
        1
        for lift in lifts
        if lift.change_last_week_percent is not None
        and lift.change_last_week_percent < -settings.lift_drop_percent
    )
    return StrengthTrend(
        lifts,
        len(counted),
        min((lift.exposures for lift in counted), default=0),
        min((lift.weeks for lift in counted), default=0.0),
        _together(counted),
        down,
    )


def _maximum(row: TopSet, settings: Settings) -> float | None:
    """Return the estimated maximum of a set, None where the set says too little about it."""
    reserve = 0.0 if row.reserve is None else row.reserve
    if reserve > settings.lift_most_reserve or row.load_kg <= 0.0:
        return None
    if row.repetitions + reserve > settings.lift_most_reps:
        return None
    return e1rm(row.load_kg, float(row.repetitions), reserve).value


def _lift(
    exercise: str, best: Mapping[dt.date, float], last: dt.date, settings: Settings
) -> LiftTrend:
    days = sorted(best)[int(settings.lift_skip) :]
    weeks = (days[-1] - days[0]).days / DAYS_PER_WEEK if days else 0.0
    change = _last_week(best, last)
    enough = len(days) >= settings.lift_exposures and weeks >= settings.lift_weeks
    if not enough:
        ready = _ready_on(sorted(best), settings)
        return LiftTrend(exercise, len(days), weeks, None, math.inf, change, ready)
    at = [(day - days[0]).days for day in days]
    middle = fmean(at)
    terms = [[1.0, (day - middle) / DAYS_PER_WEEK] for day in at]
    logs = [100.0 * math.log(best[day]) for day in days]
    line = fit(
        at,
        terms,
        [value - fmean(logs) for value in logs],
        0.0,
        (settings.lift_noise_percent, settings.lift_exposures),
        [math.inf, math.inf],
    )
    noise = max(line.noise, settings.lift_noise_floor_percent)
    error = line.error(1) * noise / line.noise * settings.lift_error_factor
    rate = ninety(line.coefficients[1], error)
    return LiftTrend(exercise, len(days), weeks, rate, error, change, None)


def _last_week(best: Mapping[dt.date, float], last: dt.date) -> float | None:
    """Return the last seven days against the four weeks before, in %."""
    border = last - dt.timedelta(days=DAYS_PER_WEEK)
    earliest = border - dt.timedelta(weeks=_WEEKS_BEFORE)
    now = [value for day, value in best.items() if day > border]
    before = [value for day, value in best.items() if earliest < day <= border]
    if not now or not before:
        return None
    return 100.0 * (fmean(now) / fmean(before) - 1.0)


def _ready_on(days: Sequence[dt.date], settings: Settings) -> dt.date | None:
    """Return the day enough will be logged, at the pace so far."""
    if len(days) < 2 or days[-1] == days[0]:  # noqa: PLR2004 - two days make a pace
        return None
    skip = int(settings.lift_skip)
    pace = (days[-1] - days[0]).days / (len(days) - 1)
    # The first time that counts, logged already or to come at this pace.
    if len(days) > skip:
        counted_from = days[skip]
    else:
        counted_from = days[-1] + dt.timedelta(days=round((skip - len(days) + 1) * pace))
    spans = math.ceil(settings.lift_weeks * DAYS_PER_WEEK / pace)
    further = max(spans, math.ceil(settings.lift_exposures) - 1)
    return counted_from + dt.timedelta(days=math.ceil(further * pace))


def _together(lifts: Sequence[LiftTrend]) -> Estimate | None:
    if not lifts:
        return None
    weights = [lift.standard_error**-2 for lift in lifts]
    rates = [lift.rate_percent_per_week for lift in lifts]
    total = math.fsum(weights)
    mean = math.fsum(
        w * rate.value for w, rate in zip(weights, rates, strict=True) if rate is not None
    )
    return ninety(mean / total, total**-0.5)
