"""What a coach may say about the week beside the answers: recent hard sets, likes, longer days."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any


@dataclass(frozen=True)
class RecentSet:
    """A recent hard set of one exercise: load in kg, repetitions done, repetitions in reserve."""

    load_kg: float
    repetitions: int
    reserve: float


@dataclass(frozen=True)
class WeekWishes:
    """Wishes for the week by exercise id; they choose among what the rules allow, no more.

    recent_sets: where a starting load can be worked out. likes, dislikes: tie-breakers.
    minutes_on: minutes of single days that differ from the answered length of a session.
    """

    recent_sets: Mapping[str, RecentSet] = field(default_factory=dict)
    likes: tuple[str, ...] = ()
    dislikes: tuple[str, ...] = ()
    minutes_on: Mapping[str, int] = field(default_factory=dict)

    def as_written(self) -> dict[str, Any]:
        """Return what is wished as plain data, as it stands in a case file."""
        said = {name: value for name, value in asdict(self).items() if value not in ((), {})}
        return {k: list(v) if isinstance(v, tuple) else v for k, v in said.items()}
