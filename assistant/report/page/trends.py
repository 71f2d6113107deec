"""Weight and girths over the weeks, from the client's record: only where the reader may see them."""

import datetime as dt
import math
from collections.abc import Mapping
from statistics import fmean

from assistant.calculate.estimate import Estimate, around
from assistant.calculate.measured import NINETY
from assistant.measure import Findings
from assistant.measure.tape import GirthChange
from assistant.measure.trend import WeightTrend
from assistant.model.history import History
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture
from assistant.report.pictures.trend import Trend, trend

_WEIGHT = "record.weight_rate_percent_per_week"
_GIRTH = "record.girth_change_cm"
_WEEK = dt.timedelta(days=7)


def trend_pictures(
    history: History, found: Findings, narrator: Narrator, words: PageWords
) -> tuple[Picture, ...]:
    """Return the trends the record is long enough for; none of a figure the screen withholds."""
    if is_stopped(narrator.run):
        return ()
    pictures = []
    if found.weight is not None and not narrator.hides(_WEIGHT):
        pictures.append(_weight(history, found.weight, words))
    if not narrator.hides(_GIRTH):
        pictures += [_girth(history, change, words) for change in found.girths]
    return tuple(pictures)


def _weight(history: History, found: WeightTrend, words: PageWords) -> Picture:
    """Draw the line through whole weeks: its height is the mean, its slope the measured pace."""
    factor, unit = words.phrases.in_reader_units("kg")
    window = found.window
    days = [row.day for row in history.weighings if window.holds(row.day)]
    middle = fmean(day.toordinal() for day in days)
    level_error = NINETY * found.noise_kg / math.sqrt(found.weighings)
    rate = found.rate_kg_per_week
    reach = (rate.high - rate.low) / 2
    estimated = {}
    for day in _weekly(window.first, window.last):
        weeks = (day.toordinal() - middle) / _WEEK.days
        value = found.mean_kg + rate.value * weeks
        # The two errors of a straight line, its height and its slope, are independent at its middle.
        error = math.hypot(level_error, reach * weeks)
        estimated[day] = around(value * factor, error * factor)
    readings = _by_day({row.day: row.weight_kg for row in history.weighings}, factor)
    series = Trend("weight", words.say("trend_weight"), unit, 1, readings, estimated)
    takeaway = words.say(
        "picture_trend_weight",
        rate=_signed(rate.value * factor, words),
        low=_signed(rate.low * factor, words),
        high=_signed(rate.high * factor, words),
        unit=unit,
    )
    return trend(series, takeaway, words)


def _girth(history: History, change: GirthChange, words: PageWords) -> Picture:
    """Draw a girth from its first day to its last, with what the tape leaves open at the end."""
    factor, unit = words.phrases.in_reader_units("cm")
    by_day: dict[dt.date, list[float]] = {}
    for row in history.girths:
        if row.site == change.site and change.first <= row.day <= change.last:
            by_day.setdefault(row.day, []).append(row.girth_cm)
    means = {day: fmean(values) for day, values in sorted(by_day.items())}
    start, end = means[change.first], means[change.last]
    low, high = start + change.change_cm.low, start + change.change_cm.high
    estimated = {
        change.first: around(start * factor, 0.0),
        change.last: Estimate(end * factor, low * factor, high * factor),
    }
    label = words.phrases.label(change.site, "site")
    series = Trend(f"girth-{change.site}", label, unit, 1, _by_day(means, factor), estimated)
    takeaway = words.say(
        "picture_trend_girth" if change.can_be_told else "picture_trend_girth_too_small",
        site=label,
        change=_signed(change.change_cm.value * factor, words, decimals=1),
        smallest=words.phrases.number(change.smallest_cm * factor, 1),
        unit=unit,
    )
    return trend(series, takeaway, words)


def _weekly(first: dt.date, last: dt.date) -> list[dt.date]:
    days = [first]
    while days[-1] + _WEEK < last:
        days.append(days[-1] + _WEEK)
    return [*days, last]


def _by_day(values: Mapping[dt.date, float], factor: float) -> dict[dt.date, float]:
    return {day: value * factor for day, value in sorted(values.items())}


def _signed(value: float, words: PageWords, decimals: int = 2) -> str:
    """Return a change with its sign, so that up and down cannot be mistaken."""
    return words.phrases.written(f"{value:+.{decimals}f}".replace("-", "\u2212"))
