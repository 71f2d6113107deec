"""What a coach may say about the week beside the answers: hard sets, likes, longer days, edits by hand."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal, TypeAlias, get_args

from assistant.model.away import Away

EditKind: TypeAlias = Literal[
    "replace", "add", "remove", "move", "pin", "sets", "repetitions", "order", "never"
]
EDIT_KINDS: tuple[str, ...] = get_args(EditKind)


@dataclass(frozen=True)
class RecentSet:
    """A recent hard set of one exercise: load in kg, repetitions done, repetitions in reserve."""

    load_kg: float
    repetitions: int
    reserve: float


@dataclass(frozen=True)
class WeekEdit:
    """One change of the week by hand, kept with who made it, why and since when.

    replace: `other` takes the place of `exercise`. add, remove, pin (it stays): on the `days` named; none
    named means every day, for a pin any day. move: from the one of `days` to the day `to`. sets:
    `numbers` is how many (add, pin: if said); on days named the line stays there, too. repetitions: `numbers` is from and to, in the measure of
    the exercise. order: `numbers` is its place that day, from 1. never: not again for this client.
    """

    kind: EditKind
    exercise: str
    by: str
    reason: str
    since: dt.date
    other: str = ""
    days: tuple[str, ...] = ()
    to: str = ""
    numbers: tuple[int, ...] = ()

    def as_written(self) -> dict[str, Any]:
        """Return the edit as plain data, as it stands in a case file."""
        more = {
            "other": self.other,
            "days": list(self.days),
            "to": self.to,
            "numbers": list(self.numbers),
        }
        return {
            self.kind: self.exercise,
            **{name: value for name, value in more.items() if value},
            "by": self.by,
            "reason": self.reason,
            "since": self.since.isoformat(),
        }


@dataclass(frozen=True)
class WeekWishes:
    """Wishes for the week by exercise id; they choose among what the rules allow, no more.

    recent_sets: where a starting load can be worked out. likes, dislikes: tie-breakers.
    minutes_on: minutes of single days that differ from the answered length of a session.
    edits: changes by hand, in the order they were made; they hold until they are withdrawn. away: times
    of travel, holiday or illness, in order of days.
    """

    recent_sets: Mapping[str, RecentSet] = field(default_factory=dict)
    likes: tuple[str, ...] = ()
    dislikes: tuple[str, ...] = ()
    minutes_on: Mapping[str, int] = field(default_factory=dict)
    edits: tuple[WeekEdit, ...] = ()
    away: tuple[Away, ...] = ()

    def as_written(self) -> dict[str, Any]:
        """Return what is wished as plain data, as it stands in a case file."""
        parts: dict[str, Any] = {
            "recent_sets": {name: asdict(one) for name, one in self.recent_sets.items()},
            "likes": list(self.likes),
            "dislikes": list(self.dislikes),
            "minutes_on": dict(self.minutes_on),
            "edits": [edit.as_written() for edit in self.edits],
            "away": [each.as_written() for each in self.away],
        }
        return {name: part for name, part in parts.items() if part}
