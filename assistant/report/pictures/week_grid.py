"""The week at a glance: which muscle gets how many hard sets on which day."""

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.values import WEEKDAYS
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture, drawing, rect, text

_LABELS, _CELL, _ROW, _HEAD = 136.0, 32.0, 21.0, 24.0
# From this share of the fullest cell on, the cell takes the stronger of two shades.
_STRONG_FROM = 0.5


@dataclass(frozen=True)
class MuscleDays:
    """Hard sets of one muscle by day of the week, in fractions."""

    muscle: str
    priority: bool
    sets: Mapping[str, float]


def week_grid(rows: list[MuscleDays], words: PageWords) -> Picture:
    """Return the grid; a shaded cell always carries its number, so no shade is needed to read it."""
    days = [day for day in WEEKDAYS if any(row.sets.get(day) for row in rows)]
    fullest = max(max(row.sets.values(), default=0.0) for row in rows)
    body = [
        text(_LABELS + (i + 0.5) * _CELL, 15, words.say(f"day_short_{day}"),
             "t" if day in days else "t quiet", "middle")
        for i, day in enumerate(WEEKDAYS)
    ]  # fmt: skip
    for j, row in enumerate(rows):
        y = _HEAD + j * _ROW
        name = words.plain(words.phrases.label(row.muscle, "short"))
        body.append(text(0, y + 14.5, name, "t strong" if row.priority else "t"))
        for i, day in enumerate(WEEKDAYS):
            sets, x = row.sets.get(day, 0.0), _LABELS + i * _CELL
            if not sets:
                body.append(rect(x + 1, y + 1, _CELL - 2, _ROW - 2, "cell-empty", 3))
                continue
            strong = sets >= _STRONG_FROM * fullest
            body.append(
                rect(x + 1, y + 1, _CELL - 2, _ROW - 2, "cell-2" if strong else "cell-1", 3)
            )
            shown = words.count(sets)
            css = "t on-strong" if strong else "t on-soft"
            body.append(text(x + _CELL / 2, y + 14.5, shown, css, "middle"))
    title = words.plain(words.say("picture_week_title"))
    description = " ".join(
        words.plain(words.say("picture_week_row", muscle=words.phrases.label(row.muscle),
                  days=", ".join(f"{words.phrases.label(day)} {words.count(row.sets[day])}"
                                 for day in WEEKDAYS if row.sets.get(day))))
        for row in rows if any(row.sets.values())
    )  # fmt: skip
    takeaway = words.say("picture_week_takeaway", days=str(len(days)), first=_busiest(rows, words))
    return drawing(
        "week-grid", title, description, words.html(takeaway), _HEAD + len(rows) * _ROW + 2, body
    )


def _busiest(rows: list[MuscleDays], words: PageWords) -> str:
    """Return the muscles with the most sets in words; three at most."""
    ranked = sorted(rows, key=lambda row: -sum(row.sets.values()))[:3]
    names = [words.phrases.label(row.muscle) for row in ranked]
    grammar = words.phrases.grammar
    if len(names) == 1:
        return names[0]
    return grammar.last_of_list.format(first=", ".join(names[:-1]), last=names[-1])
