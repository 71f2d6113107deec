"""The solved week and the account of how it came about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import Field, WithJsonSchema

from assistant.model.kept import KeptLine

# The plan document checks the week's parts against these types and describes them by them.
# A whole number of sets is written without a point, so both kinds are kept as they are.
Amount = Annotated[int | float, Field(ge=0), WithJsonSchema({"type": "number", "minimum": 0})]
Count = Annotated[int, Field(ge=0)]


@dataclass(frozen=True)
class Substitute:
    """Another exercise for a line; `changes` says what it spares: equipment or joint."""

    exercise: str
    name: str
    changes: str
    why: str


@dataclass(frozen=True)
class HandNote:
    """What was changed by hand about a line, by whom, why and since when (a day, ISO).

    For a client `what`, `by` and `reason` are empty: that something was changed is all they read.
    """

    what: str
    by: str
    reason: str
    since: str


@dataclass(frozen=True)
class WarmUpSet:
    """A lighter set before the working sets: share of the working load, repetitions, and the load itself.

    `load_kg` is None where the working load is not known yet.
    """

    percent: int
    repetitions: int
    load_kg: float | None


@dataclass(frozen=True)
class Line:
    """One exercise of a session, as a coach writes it.

    `measure` is repetitions or seconds; `low` and `high` are in that measure. `load_kg` is None
    when it cannot be said honestly; `load_note` then says how to find it.
    """

    order: int
    exercise: str
    name: str
    sets: int
    measure: str
    low: int
    high: int
    rir: int
    rest_s: int
    zone: str
    load_kg: float | None
    load_note: str
    seconds: int
    reason: str
    substitutes: tuple[Substitute, ...]
    by_hand: tuple[HandNote, ...] = ()
    warm_up: tuple[WarmUpSet, ...] = ()

    @property
    def reps(self) -> tuple[int, int]:
        """From and to, in the line's measure."""
        return self.low, self.high


@dataclass(frozen=True)
class NextLoad:
    """What comes next on a line: load in kg (None without load steps) and repetitions from and to.

    way: why, by the name of its sentence (`next_loads` in rules/plan.yaml). reserve: what must be left.
    before_kg: the load of the last time. step_kg: the step up. count: sets, repetitions or weeks that
    the sentence names. exercise: the harder one.
    """

    way: str
    load_kg: float | None
    low: int
    high: int
    reserve: int
    before_kg: float | None = None
    step_kg: float | None = None
    count: int = 0
    percent: int = 0
    exercise: str = ""


@dataclass(frozen=True)
class Session:
    """One training day. `minutes` is the estimate, `minutes_allowed` the limit.

    `warm_up_s`: seconds of easy movement it begins with, counted in `minutes`.
    """

    day: str
    type: str
    minutes: float
    minutes_allowed: int
    lines: tuple[Line, ...]
    warm_up_s: int = 0


@dataclass(frozen=True)
class MuscleWeek:
    """What one muscle gets in the week: fractional sets and sessions, against what was asked."""

    muscle: str
    sets: Amount
    sessions: Count
    low: Amount
    target: Amount
    ceiling: Amount
    floor: Amount
    priority: bool


@dataclass(frozen=True)
class Unmet:
    """Something asked for that the week does not hold.

    `kind` is refused, empty_day, thin_day, family, floor, low, sessions, angle, lead, target,
    public_days, pin, edit (one by hand that is put aside or waits) or over (the week passes a
    limit that no solved week passes). `remedy` is the cheapest change that was tried in a second solve
    and worked, or empty. `together` tells this gap in one sentence with others of the same reason; empty
    where it stands alone.
    """

    kind: str
    subject: str
    wanted: Amount
    got: Amount
    why: str
    remedy: str
    together: str = ""

    @property
    def told(self) -> str:
        """The sentence for a list of all gaps, where each is told once."""
        return self.together or self.why


@dataclass(frozen=True)
class Phase:
    """One phase of the search: value reached, proven bound, and the gap between them in percent.

    A percent of a small number misleads, so `gap_words` says in sets or rank points how much better
    a week could be at most.
    """

    id: str
    title: str
    why: str
    status: str
    value: int
    bound: int
    gap_percent: Amount
    gap_words: str


@dataclass(frozen=True)
class NotChosen:
    """Why an exercise is not in the week.

    `cause` is by_hand, equipment, joint, restriction, drill, ability, skill, loadability, lower_rank or lower_value. `behind` is the
    number of points it ranks below the chosen exercise of its kind, where that is the cause.
    """

    exercise: str
    cause: str
    why: str
    behind: int | None = None
    chosen_instead: str = ""


@dataclass(frozen=True)
class Programme:
    """A week of training, or a refusal: no sessions and `unmet` saying why and what would help.

    `chosen` is what stands behind the sessions, by day: exercises in order with their full sets,
    also where fewer sets are shown at first. `next_loads` is by day and exercise, where sets that were
    told say what comes next.
    """

    sessions: tuple[Session, ...]
    muscles: tuple[MuscleWeek, ...]
    unmet: tuple[Unmet, ...]
    phases: tuple[Phase, ...]
    not_chosen: tuple[NotChosen, ...]
    binding: tuple[str, ...]
    notes: tuple[str, ...]
    day_types: Mapping[str, str]
    shape_reason: str
    chosen: Mapping[str, tuple[KeptLine, ...]] = field(default_factory=dict)
    next_loads: Mapping[tuple[str, str], NextLoad] = field(default_factory=dict)
