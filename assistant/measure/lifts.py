"""Strength over weeks: each lift's estimated maximum against its own scatter, and all together.

Read from the sets as they are printed: repetitions to failure are those done and those in reserve. Where
the formulas part (many repetitions) or the reserve is a guess (much of it), a set weighs less and the
interval is wider until the person's own scatter is known.
"""

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
from assistant.model.history import History, TopSet

_WEEKS_BEFORE = 4


@dataclass(frozen=True)
class Best:
    """The best set of a lift on a day: its estimated maximum, kg, and how far that scatters, %."""

    maximum_kg: float
    scatter_percent: float


@dataclass(frozen=True)
class Rate:
    """A pace in % a week with a 90 % interval, and its standard error."""

    percent_per_week: Estimate
    standard_error: float


@dataclass(frozen=True)
class LiftTrend:
    """How one lift goes.

    rate: over all weeks looked back; None while there are too few exposures. lately: the same over
    the last weeks, for a fall; all weeks where those hold too few. ready_on: first day it can be told, at the pace
    of logging so far (None where it can already, or nothing tells the pace).
    is_down: whether the last seven days lie clearly under the four weeks before; None where nothing tells.
    """

    exercise: str
    exposures: int
    weeks: float
    rate: Rate | None
    lately: Rate | None
    is_down: bool | None
    ready_on: dt.date | None


@dataclass(frozen=True)
class StrengthTrend:
    """All followed lifts together: means of their rates, each weighed by its certainty.

    exposures, weeks: of the lift with the fewest among those that count. lately: of the last weeks.
    """

    lifts: tuple[LiftTrend, ...]
    counted: int
    exposures: int
    weeks: float
    rate_percent_per_week: Estimate | None
    lately_percent_per_week: Estimate | None
    lifts_down: int


def strength_trend(
    history: History, since: dt.date, last: dt.date, settings: Settings
) -> StrengthTrend:
    """Return how the lifts logged from a day on go, up to and including a last day.

    Sets of a lighter week are light on purpose and say nothing.
    """
    lighter = [row.day for row in history.agreements if row.easier_week]
    by_exercise: dict[str, dict[dt.date, Best]] = {}
    for row in history.top_sets:
        if not since <= row.day <= last:
            continue
        if any(0 <= (row.day - day).days < DAYS_PER_WEEK for day in lighter):
            continue
        if (best := best_of(row, settings)) is not None:
            days = by_exercise.setdefault(row.exercise, {})
            known = days.get(row.day)
            if known is None or best.maximum_kg > known.maximum_kg:
                days[row.day] = best
    lifts = tuple(
        _lift(exercise, days, last, settings) for exercise, days in sorted(by_exercise.items())
    )
    counted = [lift for lift in lifts if lift.rate is not None]
    return StrengthTrend(
        lifts,
        len(counted),
        min((lift.exposures for lift in counted), default=0),
        min((lift.weeks for lift in counted), default=0.0),
        _together([lift.rate for lift in counted if lift.rate is not None]),
        _together([lift.lately for lift in counted if lift.lately is not None]),
        sum(lift.is_down is True for lift in lifts),
    )


def best_of(row: TopSet, settings: Settings) -> Best | None:
    """Return what a set says about the maximum, None where it says too little."""
    reserve = 0.0 if row.reserve is None else row.reserve
    if reserve > settings.lift_most_reserve or row.load_kg <= 0.0:
        return None
    if row.repetitions > settings.lift_most_reps:
        return None
    most = settings.lift_most_reps + settings.lift_most_reserve
    maximum = e1rm(row.load_kg, float(row.repetitions), reserve, up_to=most)
    formulas_part = 25.0 * math.log(maximum.high / maximum.low)
    guess = settings.lift_reserve_error_percent * reserve
    return Best(maximum.value, math.hypot(settings.lift_noise_percent, formulas_part, guess))


def _lift(
    exercise: str, best: Mapping[dt.date, Best], last: dt.date, settings: Settings
) -> LiftTrend:
    days = sorted(best)[int(settings.lift_skip) :]
    down = _is_down(best, last, settings)
    rate = _rate(days, best, settings)
    weeks = (days[-1] - days[0]).days / DAYS_PER_WEEK if days else 0.0
    if rate is None:
        ready = _ready_on(sorted(best), settings)
        return LiftTrend(exercise, len(days), weeks, None, None, down, ready)
    border = last - dt.timedelta(weeks=int(settings.lift_recent_weeks))
    lately = _rate([day for day in days if day > border], best, settings) or rate
    return LiftTrend(exercise, len(days), weeks, rate, lately, down, None)


def _rate(days: Sequence[dt.date], best: Mapping[dt.date, Best], settings: Settings) -> Rate | None:
    """Return the pace over some days; None where they are too few or span too little."""
    if len(days) < settings.lift_exposures:
        return None
    if (days[-1] - days[0]).days < settings.lift_weeks * DAYS_PER_WEEK:
        return None
    at = [(day - days[0]).days for day in days]
    middle = fmean(at)
    # Rows are scaled so that each scatters like the plainest set; what scatters more weighs less.
    scale = [settings.lift_noise_percent / best[day].scatter_percent for day in days]
    logs = [100.0 * math.log(best[day].maximum_kg) for day in days]
    line = fit(
        at,
        [
            [part, part * (day - middle) / DAYS_PER_WEEK]
            for day, part in zip(at, scale, strict=True)
        ],
        [part * (value - fmean(logs)) for value, part in zip(logs, scale, strict=True)],
        0.0,
        (settings.lift_noise_percent, settings.lift_exposures),
        [math.inf, math.inf],
    )
    noise = max(line.noise, settings.lift_noise_floor_percent)
    error = line.error(1) * noise / line.noise * settings.lift_error_factor
    return Rate(ninety(line.coefficients[1], error), error)


def _is_down(best: Mapping[dt.date, Best], last: dt.date, settings: Settings) -> bool | None:
    """Tell whether the last seven days lie clearly under the four weeks before."""
    border = last - dt.timedelta(days=DAYS_PER_WEEK)
    earliest = border - dt.timedelta(weeks=_WEEKS_BEFORE)
    now = [one for day, one in best.items() if day > border]
    before = [one for day, one in best.items() if earliest < day <= border]
    if not now or not before:
        return None
    change = fmean(one.maximum_kg for one in now) / fmean(one.maximum_kg for one in before) - 1.0
    scatter = fmean(one.scatter_percent for one in (*now, *before))
    return 100.0 * change < -settings.lift_drop_percent * scatter / settings.lift_noise_percent


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


def _together(rates: Sequence[Rate]) -> Estimate | None:
    if not rates:
        return None
    weights = [rate.standard_error**-2 for rate in rates]
    total = math.fsum(weights)
    mean = math.fsum(
        weight * rate.percent_per_week.value for weight, rate in zip(weights, rates, strict=True)
    )
    return ninety(mean / total, total**-0.5)
