"""Figures with the range they may lie in: energy and protein a day."""

from dataclasses import dataclass

from assistant.calculate.estimate import Estimate
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture, Scale, circle, drawing, line, rect, text

_START, _END, _ROW, _HEAD = 6.0, 354.0, 62.0, 2.0
_AIR = 0.08  # free space at both ends of the axis, as a share of the whole span


@dataclass(frozen=True)
class Ranged:
    """One figure: its label, its value and range as shown to this reader, and in plain numbers.

    axis: figures with the same unit share one axis, so that their bars can be compared.
    """

    label: str
    shown: str
    figure: Estimate
    is_aim: bool
    axis: str


def ranges(picture_id: str, title_key: str, takeaway: str, rows: list[Ranged],
           words: PageWords) -> Picture:  # fmt: skip
    """Return a bar for each range and a dot for each value."""
    body: list[str] = []
    for j, row in enumerate(rows):
        scale = _axis([other for other in rows if other.axis == row.axis])
        y = _HEAD + j * _ROW
        middle = y + 44
        body += [
            text(_START, y + 13, words.plain(row.label), "t strong" if row.is_aim else "t"),
            text(_START, y + 29, words.plain(row.shown), "t"),
            line(_START, middle, _END, middle, "hair"),
            rect(scale.at(row.figure.low), middle - 5, scale.at(row.figure.high) - scale.at(row.figure.low), 10,
                 "band-strong" if row.is_aim else "band", 5),
            circle(scale.at(row.figure.value), middle, 5.5, "dot"),
        ]  # fmt: skip
    title = words.plain(words.say(title_key))
    description = " ".join(f"{words.plain(r.label)}: {words.plain(r.shown)}." for r in rows)
    return drawing(
        picture_id, title, description, words.html(takeaway), _HEAD + len(rows) * _ROW, body
    )


def _axis(rows: list[Ranged]) -> Scale:
    low, high = min(r.figure.low for r in rows), max(r.figure.high for r in rows)
    air = (high - low) * _AIR or 1.0
    return Scale(low - air, high + air, _START, _END)
