"""What the week is asked to be: decided upstream by rules, solved here."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from assistant.model.values import WEEKDAYS
from assistant.programme.hand import Hand

DAYS = WEEKDAYS
DAY_TYPES = ("full", "upper", "lower", "short", "priority")
LEVELS = ("novice", "intermediate", "advanced")
STYLES = ("moderate", "light", "heavy")
MOST_MINUTES = 180
_OF_EXERCISES = (
    "liked", "disliked", "previous_days", "previous_exercises", "exercises_before_previous", "known_top_sets",
)  # fmt: skip


class SetTarget(NamedTuple):
    """Weekly fractional sets of one muscle: least useful, aimed at, and never above."""

    low: float
    target: float
    ceiling: float


class SessionCap(NamedTuple):
    """Fractional sets of one muscle in one session: comfortable, and never above."""

    soft: float
    hard: float


@dataclass(frozen=True)
class LaterDose:
    """The dose a week grows to where a limit keeps it small for now.

    The exercises are chosen for this dose, so that they stay when sets are added.
    """

    target_sets: Mapping[str, SetTarget]
    session_cap_sets: SessionCap
    floors_sets: Mapping[str, float]


@dataclass(frozen=True)
class Pin:
    """An exercise a coach wants; on a named day, or on any day if `day` is None.

    by_hand: it comes from an edit that was kept, so it stands also where no solved week could hold it.
    """

    exercise: str
    day: str | None = None
    by_hand: bool = False


@dataclass(frozen=True)
class TopSet:
    """A recent hard set of one exercise: load in kg, repetitions done, repetitions in reserve."""

    load_kg: float
    repetitions: int
    rir: float


@dataclass(frozen=True)
class ProgrammeRequest:
    """All that a week depends on besides the catalogue.

    `equipment` holds single pieces (sets already expanded). `minutes_on` overrides the minutes of
    one day. `sore_joints` are spared by what strains them, `resting_joints` by every
    pattern that moves them, `eased_joints` train with care; nothing asks for a movement in `hurting` (flags of exercises). `abilities` is what the client says they can do: the rest counts as cannot. `limits` holds the ids of the limits in force; `longest_hold_s` is the longest hold in
    seconds, None where holds are free. `later` is the dose the week grows to, None where it is the
    full one already. `floors_sets` is the least weekly sets of a muscle in every
    week. `previous_days` says on which days each exercise stood in the week now
    running, so that a re-solve moves few lines. `hand` is what was changed by hand. Raises `ValueError` naming the field, the bad value and what is allowed.
    """

    available_days: tuple[str, ...]
    minutes_per_session: int
    training_level: str
    age_years: float
    target_sets: Mapping[str, SetTarget]
    session_cap_sets: SessionCap
    floors_sets: Mapping[str, float]
    rir_compound: int
    rir_single_joint: int
    day_types: Mapping[str, str] | None = None
    short_minutes: int = 25
    minutes_on: Mapping[str, int] = field(default_factory=dict)
    equipment: frozenset[str] = frozenset({"bodyweight"})
    sore_joints: frozenset[str] = frozenset()
    resting_joints: frozenset[str] = frozenset()
    eased_joints: frozenset[str] = frozenset()
    hurting: frozenset[str] = frozenset()
    abilities: frozenset[str] = frozenset()
    limits: frozenset[str] = frozenset()
    longest_hold_s: int | None = None
    later: LaterDose | None = None
    target_sessions: Mapping[str, int] = field(default_factory=dict)
    priority_muscles: tuple[str, ...] = ()
    block_style: str = "moderate"
    liked: frozenset[str] = frozenset()
    disliked: frozenset[str] = frozenset()
    previous_exercises: frozenset[str] = frozenset()
    previous_days: Mapping[str, frozenset[str]] = field(default_factory=dict)
    exercises_before_previous: frozenset[str] = frozenset()
    pinned: tuple[Pin, ...] = ()
    known_top_sets: Mapping[str, TopSet] = field(default_factory=dict)
    hand: Hand = field(default_factory=Hand)
    seed: int = 1

    def __post_init__(self) -> None:
        _among("available_days", self.available_days, DAYS)
        if len(set(self.available_days)) != len(self.available_days):
            raise ValueError("available_days: a day stands twice; name each day once")
        _between("minutes_per_session", self.minutes_per_session, 10, MOST_MINUTES)
        _between("short_minutes", self.short_minutes, 10, 60)
        _between("age_years", self.age_years, 10, 110)
        _between("rir_compound", self.rir_compound, 0, 8)
        _between("rir_single_joint", self.rir_single_joint, 0, 8)
        if self.longest_hold_s is not None:
            _between("longest_hold_s", self.longest_hold_s, 5, 120)
        _among("training_level", [self.training_level], LEVELS)
        _among("block_style", [self.block_style], STYLES)
        if self.day_types is not None:
            _among("day_types", self.day_types, self.available_days)
            _among("day_types", self.day_types.values(), DAY_TYPES)
        _among("minutes_on", self.minutes_on, self.available_days)
        for day, minutes in self.minutes_on.items():
            _between(f"minutes_on[{day}]", minutes, 10, MOST_MINUTES)
        for muscle, aim in self.target_sets.items():
            if not 0 <= aim[0] <= aim[1] <= aim[2]:
                raise ValueError(
                    f"target_sets[{muscle}]: {tuple(aim)} must rise: 0 <= low <= target <= ceiling"
                )
        if not 0 < self.session_cap_sets[0] <= self.session_cap_sets[1]:
            raise ValueError(
                f"session_cap_sets: {tuple(self.session_cap_sets)} must rise: 0 < soft <= hard"
            )
        _among("priority_muscles", self.priority_muscles, self.target_sets)
        for pin in self.pinned:
            if pin.day is not None:
                _among("pinned", [pin.day], self.available_days)

    def grown(self) -> ProgrammeRequest:
        """The request with the dose the week grows to; itself where that is the full one already."""
        if self.later is None:
            return self
        return dataclasses.replace(self, **vars(self.later), later=None)

    def check_against(
        self, exercises: Collection[str], muscles: Collection[str], limits: Collection[str]
    ) -> None:
        """Raises `ValueError` if an exercise, muscle or limit of the request is not in the catalogue."""
        _among("limits", self.limits, limits)
        _among("pinned", [pin.exercise for pin in self.pinned], exercises)
        for name in _OF_EXERCISES:
            _among(name, getattr(self, name), exercises)
        for name in ("target_sets", "target_sessions", "floors_sets"):
            _among(name, getattr(self, name), muscles)


def _among(name: str, used: Iterable[str], allowed: Iterable[str]) -> None:
    names = tuple(allowed)
    for item in used:
        if item in names:
            continue
        near = difflib.get_close_matches(item, names, n=1)
        hint = f"did you mean `{near[0]}`?" if near else f"allowed: {', '.join(names)}"
        raise ValueError(f"{name}: `{item}` is not known; {hint}")


def _between(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise ValueError(f"{name}: {value} is outside {low} to {high}; give a value in that range")
