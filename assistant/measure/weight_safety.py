"""What counts for safety whatever has been agreed meanwhile: fast loss and gain, weight now, a sudden rise.

Every window ends on the last day of weighing, not on the day of asking: silence closes nothing.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import NamedTuple, get_args

from assistant.calculate.estimate import Estimate
from assistant.measure.agreed import agreed_on
from assistant.measure.settings import Settings
from assistant.measure.trend import DAYS_PER_WEEK, Window, weight_trend, whole_weeks
from assistant.model.history import History, Sign, Weighing

_SIGNS: tuple[Sign, ...] = get_args(Sign)


@dataclass(frozen=True)
class WeightSafety:
    """What the scale says for safety; None where it cannot be told.

    loss, gain: the fastest pace down and up in the weeks just gone, % a week. weight_kg: the weight
    that takes the place of an older answer. last_weight_kg: mean of the last week with weighings.
    loss_each_week_kg: the lesser loss of the last two weeks. sudden_rise_kg: largest rise within few
    days that nobody has asked about yet.
    """

    loss: Estimate | None = None
    gain: Estimate | None = None
    weight_kg: float | None = None
    last_weight_kg: float | None = None
    loss_each_week_kg: float | None = None
    sudden_rise_kg: float | None = None


def weight_safety(
    history: History, on: dt.date, settings: Settings, answered_on: dt.date | None = None
) -> WeightSafety:
    """Return what the scale says for safety up to and including a day.

    answered_on: the day body weight was answered; a younger answer is not replaced.
    """
    weighings = [row for row in history.weighings if row.day <= on]
    if not weighings:
        return WeightSafety()
    last = max(row.day for row in weighings)
    by_week = _means_by_week(weighings, last)
    paces = fastest(history, on, settings)
    older = answered_on is not None and last < answered_on
    return WeightSafety(
        loss=paces.loss,
        gain=paces.gain,
        weight_kg=None if older else _weight_now(weighings, last, settings),
        last_weight_kg=round(by_week[0], 2),
        loss_each_week_kg=_loss_each_week(by_week, settings),
        sudden_rise_kg=_sudden_rise(history, weighings, last, settings),
    )


class Fastest(NamedTuple):
    """The paces with the lowest and the highest value that count lately; None without one."""

    loss: Estimate | None
    gain: Estimate | None


def fastest(history: History, on: dt.date, settings: Settings) -> Fastest:
    """Return the fastest loss of the windows that ended lately, and the fastest gain seen lately.

    A fast loss stays in view for `safety_looks` weeks of further weighing. What a look at the plan
    saw on the day something was agreed stays in view as long.
    """
    watched = [
        pace
        for end in _ends(history, on, settings)
        if (pace := _watched_pace(history, end, settings)) is not None
    ]
    steered = _steered_paces(history, on, settings)
    losses = [*watched, *(pace for weeks, pace in steered if weeks >= settings.loss_trend_weeks)]
    gains = [pace for weeks, pace in steered if weeks >= settings.gain_trend_weeks]
    return Fastest(
        min(losses, key=lambda pace: pace.value, default=None),
        max(gains, key=lambda pace: pace.value, default=None),
    )


def _ends(history: History, on: dt.date, settings: Settings) -> list[dt.date]:
    days = [row.day for row in history.weighings if row.day <= on]
    if not days:
        return []
    looks = range(int(settings.safety_looks) + 1)
    return [max(days) - dt.timedelta(days=back * DAYS_PER_WEEK) for back in looks]


def _watched_pace(history: History, end: dt.date, settings: Settings) -> Estimate | None:
    """Return the pace of the watched weeks up to a day, which no agreement restarts."""
    weeks = int(settings.safety_weeks)
    first = min((row.day for row in history.weighings), default=end)
    window = whole_weeks(first, end, weeks)
    if window is not None and window.weeks == weeks:
        trend = weight_trend(history, window, settings)
        if trend is not None:
            return trend.rate_percent_per_week
    return _sparse_pace(history, end, weeks * DAYS_PER_WEEK, settings)


def _sparse_pace(history: History, end: dt.date, days: int, settings: Settings) -> Estimate | None:
    """Return the pace through a few single weighings; None where they span too little."""
    window = Window(end - dt.timedelta(days=days), end)
    points = [row for row in history.weighings if window.holds(row.day)]
    if not points:
        return None
    x = [(row.day - points[0].day).days for row in points]
    if x[-1] < days * settings.sparse_span_percent / 100.0:
        return None
    y = [row.weight_kg for row in points]
    middle, mean = fmean(x), fmean(y)
    slope = sum((a - middle) * (b - mean) for a, b in zip(x, y, strict=True)) / sum(
        (a - middle) ** 2 for a in x
    )
    pace = 100.0 * slope * DAYS_PER_WEEK / mean
    return Estimate(pace, pace, pace)


def _steered_paces(history: History, on: dt.date, settings: Settings) -> list[tuple[int, Estimate]]:
    """Return the paces that steer, with their weeks: now, and on the days something was agreed.

    On such a day the pace is read as it stood before the agreement, which restarts it afterwards.
    """
    days = [row.day for row in history.weighings if row.day <= on]
    if not days:
        return []
    first, last = min(days), max(days)
    view = last - dt.timedelta(weeks=int(settings.safety_looks))
    turns = sorted({row.day for row in history.agreements if view < row.day <= on})
    least = min(settings.loss_trend_weeks, settings.gain_trend_weeks)
    ends = [(min(day, last), day - dt.timedelta(days=1)) for day in turns] + [(last, on)]
    found = []
    for end, known_until in ends:
        agreed = agreed_on(history.agreements, known_until, settings.large_food_change)
        window = agreed.rate_weeks(first, end, settings)
        if window is None or window.weeks < least:
            continue
        trend = weight_trend(history, window, settings)
        if trend is not None:
            found.append((window.weeks, trend.rate_percent_per_week))
    return found


def _weight_now(weighings: Sequence[Weighing], last: dt.date, settings: Settings) -> float | None:
    """Return the mean weight of the last days in kg; None with too few weighings.

    Who weighs seldom is read from the last few weighings, if they lie close enough together.
    """
    since = last - dt.timedelta(days=int(settings.lately_days) - 1)
    weights = [row.weight_kg for row in weighings if row.day >= since]
    if len(weights) >= settings.lately_weighings:
        return round(fmean(weights), 2)
    least = int(max(settings.sparse_weighings, settings.lately_weighings))
    few = weighings[-least:]
    near = (last - few[0].day).days <= settings.sparse_days and few[0].day < since
    enough = len(few) >= least
    return round(fmean(row.weight_kg for row in few), 2) if near and enough else None


def _means_by_week(weighings: Sequence[Weighing], last: dt.date) -> Mapping[int, float]:
    """Return mean weights by week, 0 for the seven days that end on the last day of weighing."""
    weeks: dict[int, list[float]] = {}
    for row in weighings:
        weeks.setdefault((last - row.day).days // DAYS_PER_WEEK, []).append(row.weight_kg)
    return {week: fmean(weights) for week, weights in weeks.items()}


def _loss_each_week(by_week: Mapping[int, float], settings: Settings) -> float | None:
    """Return the lesser loss of the last two weeks, kg; a week without weighing lies in between."""
    older = min((week for week in by_week if 1 < week <= settings.longest_gap_weeks), default=None)
    if older is None:
        return None
    if 1 not in by_week:
        return (by_week[older] - by_week[0]) / older
    return min(by_week[1] - by_week[0], (by_week[older] - by_week[1]) / (older - 1))


def _sudden_rise(
    history: History, weighings: Sequence[Weighing], last: dt.date, settings: Settings
) -> float | None:
    """Return the largest rise within few days that was not asked about since, kg.

    A rise is past after `note_days` of further weighing.
    """
    days: dict[dt.date, list[float]] = {}
    for row in weighings:
        days.setdefault(row.day, []).append(row.weight_kg)
    means = sorted((day, fmean(weights)) for day, weights in days.items())
    since = last - dt.timedelta(days=int(settings.note_days))
    asked = [
        max((mark.day for mark in history.signs if mark.sign == sign), default=dt.date.min)
        for sign in _SIGNS
    ]
    rises = [
        later - earlier
        for index, (day, later) in enumerate(means)
        if day > since and min(asked) < day
        for before, earlier in means[:index]
        if (day - before).days <= settings.rise_days
    ]
    return max(rises, default=None)
