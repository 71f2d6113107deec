"""A week as it was chosen, small enough to keep: exercises, days, order and sets. Shapes only.

What follows from the choice (repetitions, reserve, rest, loads, reasons, stand-ins) is worked out again
from what is known on the day, so that a kept week never carries an old answer with it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from assistant.model.values import WEEKDAYS


@dataclass(frozen=True)
class KeptLine:
    """One exercise of a day by its id, with its working sets (all of them, also if fewer are shown)."""

    exercise: str
    sets: int


@dataclass(frozen=True)
class KeptWeek:
    """The lines of each training day in order, by day (`mon` to `sun`), and the block's style."""

    style: str
    days: Mapping[str, tuple[KeptLine, ...]] = field(default_factory=dict)

    def as_written(self) -> dict[str, Any]:
        """Return the week as plain data: the style, and for each day `[exercise, sets]` in order."""
        days = {
            day: [[line.exercise, line.sets] for line in lines] for day, lines in self.days.items()
        }
        return {"style": self.style, "days": days}


def days_by_exercise(days: Mapping[str, Sequence[KeptLine]]) -> dict[str, frozenset[str]]:
    """Return on which days each exercise stands."""
    found: dict[str, frozenset[str]] = {}
    for day, lines in days.items():
        for line in lines:
            found[line.exercise] = found.get(line.exercise, frozenset()) | {day}
    return found


def read_kept(plain: Any) -> KeptWeek:
    """Return the week that `as_written` wrote. Raises ValueError where it is none."""
    match plain:
        case {"style": str(style), "days": dict(days), **more} if not more:
            return KeptWeek(style, {day: _lines(day, listed) for day, listed in days.items()})
    raise ValueError("a kept week has `style`, a word, and `days`, its lines by day")


def _lines(day: str, listed: Any) -> tuple[KeptLine, ...]:
    if day not in WEEKDAYS:
        raise ValueError(f"`{day}` is no day of a kept week; allowed: {', '.join(WEEKDAYS)}")
    if isinstance(listed, list) and all(_is_line(item) for item in listed):
        return tuple(KeptLine(*item) for item in listed)
    raise ValueError(f"`{day}` of a kept week lists exercises, each with its sets, 1 or more")


def _is_line(item: Any) -> bool:
    match item:
        case [str(), int(sets)]:
            return sets > 0 and not isinstance(sets, bool)
    return False


@dataclass(frozen=True)
class Unfit:
    """What of a kept week can stand no longer, and why; `exercise` is empty for a whole day."""

    day: str
    exercise: str
    why: str


@dataclass(frozen=True)
class Misfit:
    """A kept week that cannot be trained as it is any more: it has to be planned again."""

    lines: tuple[Unfit, ...]
