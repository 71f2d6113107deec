"""A measure over time: what was measured, the estimate through it, and how sure that is."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.calculate.estimate import Estimate
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture, Scale, circle, drawing, line, path, text

_LEFT, _RIGHT, _TOP, _BOTTOM = 40.0, 352.0, 12.0, 132.0
_AIR = 0.1


@dataclass(frozen=True)
class Trend:
    """One series. label and unit are words; decimals is how exactly it is shown; measured, estimated: by day."""

    id: str
    label: str
    unit: str
    decimals: int
    measured: Mapping[dt.date, float]
    estimated: Mapping[dt.date, Estimate]


def trend(series: Trend, takeaway: str, words: PageWords) -> Picture:
    """Return dots for readings, a line for the estimate and an area for its interval.

    Raises ValueError for a series without any reading or estimate.
    """
    days = [*series.measured, *series.estimated]
    if not days:
        raise ValueError(f"nothing measured for {series.id}")
    values = [
        *series.measured.values(),
        *(v for e in series.estimated.values() for v in (e.low, e.high)),
    ]
    first, last = min(days), max(days)
    air = (max(values) - min(values)) * _AIR or 0.5
    across = Scale(0, max(1, (last - first).days), _LEFT, _RIGHT)
    up = Scale(min(values) - air, max(values) + air, _BOTTOM, _TOP)

    def x(day: dt.date) -> float:
        return across.at((day - first).days)

    body: list[str] = []
    for value in (min(values), (min(values) + max(values)) / 2, max(values)):
        body += [
            line(_LEFT, up.at(value), _RIGHT, up.at(value), "hair"),
            text(_LEFT - 6, up.at(value) + 4, words.phrases.number(value, series.decimals),
                 "t small quiet", "end"),
        ]  # fmt: skip
    upper = [(x(day), up.at(e.high)) for day, e in series.estimated.items()]
    lower = [(x(day), up.at(e.low)) for day, e in reversed([*series.estimated.items()])]
    if len(upper) > 1:
        body.append(path([*upper, *lower], "band", closed=True))
        body.append(
            path([(x(day), up.at(e.value)) for day, e in series.estimated.items()], "course")
        )
    body += [circle(x(day), up.at(value), 2.2, "reading") for day, value in series.measured.items()]
    body += [
        text(_LEFT, _BOTTOM + 18, words.plain(words.date(first, "date_short")), "t small quiet"),
        text(_RIGHT, _BOTTOM + 18, words.plain(words.date(last, "date_short")), "t small quiet",
             "end"),
    ]  # fmt: skip
    title = words.plain(words.say("picture_trend_title", what=series.label))
    said = words.plain(_in_words(series, words))
    return drawing(f"trend-{series.id}", title, said, words.html(takeaway), _BOTTOM + 24, body)


def _in_words(series: Trend, words: PageWords) -> str:
    shown = [
        words.say(
            "picture_trend_row",
            day=words.date(day),
            value=words.phrases.number(item.value, series.decimals),
            low=words.phrases.number(item.low, series.decimals),
            high=words.phrases.number(item.high, series.decimals),
            unit=series.unit,
        )
        for day, item in _a_few([*series.estimated.items()])
    ]
    count = words.say("picture_trend_count", count=str(len(series.measured)))
    return " ".join([count, *shown])


def _a_few(items: list[tuple[dt.date, Estimate]]) -> list[tuple[dt.date, Estimate]]:
    """Return first, middle and last: enough to hear where the course went."""
    if not items:
        return []
    picked = [items[0], items[len(items) // 2], items[-1]]
    return list(dict.fromkeys(picked))
