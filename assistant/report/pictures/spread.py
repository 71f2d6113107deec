"""Proportions beside the spread of active adults: a place on a scale, never a mark out of ten."""

from dataclasses import dataclass

from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture, Scale, circle, drawing, line, rect, text

_START, _END, _ROW = 6.0, 354.0, 58.0
_AIR = 0.12


@dataclass(frozen=True)
class Spread:
    """One proportion: the client's own value and the 5th, 25th, 50th, 75th and 95th percentiles."""

    label: str
    shown: str
    value: float
    percentiles: tuple[float, float, float, float, float]


def spread(rows: list[Spread], takeaway: str, words: PageWords) -> Picture:
    """Return one scale a proportion: thin line 5th to 95th, box 25th to 75th, tick at the middle."""
    body: list[str] = []
    for j, row in enumerate(rows):
        y = j * _ROW
        p5, p25, p50, p75, p95 = row.percentiles
        low, high = min(p5, row.value), max(p95, row.value)
        air = (high - low) * _AIR
        scale = Scale(low - air, high + air, _START, _END)
        middle = y + 29
        body += [
            text(_START, y + 13, words.plain(row.label), "t"),
            text(_END, y + 13, row.shown, "t strong", "end"),
            line(scale.at(p5), middle, scale.at(p95), middle, "axis"),
            rect(scale.at(p25), middle - 6, scale.at(p75) - scale.at(p25), 12, "band", 3),
            line(scale.at(p50), middle - 8, scale.at(p50), middle + 8, "axis"),
            circle(scale.at(row.value), middle, 5.5, "dot"),
            *(
                text(
                    scale.at(v), middle + 20, words.phrases.number(v, 2), "t small quiet", "middle"
                )
                for v in (p5, p50, p95)
            ),
        ]
    title = words.plain(words.say("picture_spread_title"))
    description = " ".join(_row_in_words(row, words) for row in rows)
    return drawing("spread", title, description, words.html(takeaway), len(rows) * _ROW, body)


def _row_in_words(row: Spread, words: PageWords) -> str:
    p5, p25, p50, p75, p95 = (words.phrases.number(p, 2) for p in row.percentiles)
    return words.plain(
        words.say("picture_spread_row", label=row.label, value=row.shown,
                  p5=p5, p25=p25, p50=p50, p75=p75, p95=p95)
    )  # fmt: skip
