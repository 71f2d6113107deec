"""What a client's record holds over months: dated measures, sessions and notes. Shapes only.

Days are local calendar days. SI units. Every series is in order of days; a day may be missing.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Literal, NamedTuple

from assistant.model.away import Away

GirthSite = Literal["waist", "hip", "shoulder", "thigh", "neck", "chest", "upper_arm", "calf"]
Sign = Literal["swelling", "breathlessness"]
Seen = Literal["yes", "no", "not yet"]


@dataclass(frozen=True)
class Weighing:
    """Body weight on a day, in kg."""

    day: dt.date
    weight_kg: float


@dataclass(frozen=True)
class Girth:
    """One tape measure on a day, in cm."""

    day: dt.date
    site: GirthSite
    girth_cm: float


@dataclass(frozen=True)
class DayOfEating:
    """What was logged for a day: energy in kcal, protein in g where it was logged."""

    day: dt.date
    energy_kcal: float
    protein_g: float | None = None


class LiftSet(NamedTuple):
    """One set of a lift: load in kg, repetitions, repetitions in reserve (None where not told)."""

    load_kg: float
    repetitions: int
    reserve: float | None = None


@dataclass(frozen=True)
class TopSet:
    """The heaviest set of a lift on a day: load in kg, repetitions, repetitions in reserve.

    others: the other sets of that day, in their order; empty where the top set alone was told.
    """

    day: dt.date
    exercise: str
    load_kg: float
    repetitions: int
    reserve: float | None = None
    others: tuple[LiftSet, ...] = ()

    @property
    def sets(self) -> tuple[LiftSet, ...]:
        """All sets told, the heaviest first."""
        return (LiftSet(self.load_kg, self.repetitions, self.reserve), *self.others)


@dataclass(frozen=True)
class SessionMark:
    """A planned session: done or missed."""

    day: dt.date
    done: bool


@dataclass(frozen=True)
class Pain:
    """Pain at a joint on a day, 0 to 10.

    asked_clear: the questions about urgent signs were all answered after this, and nothing was found.
    """

    day: dt.date
    joint: str
    pain_0_to_10: int
    asked_clear: bool = False


@dataclass(frozen=True)
class SignMark:
    """A sign asked about after a sudden rise of weight: felt or not."""

    day: dt.date
    sign: Sign
    felt: bool


@dataclass(frozen=True)
class OpenReferral:
    """Somebody the client was asked to see and has not seen yet, as far as anybody told.

    since: the day it was first asked for. answer, asked_on: what was said last when we asked, and
    when; None while nobody asked.
    """

    role: str
    since: dt.date
    answer: Seen | None = None
    asked_on: dt.date | None = None


@dataclass(frozen=True)
class DayNote:
    """How a day was. Scales run from 1 (low) to 5 (high); None where nothing was said.

    cycle_start: a period began on this day.
    """

    day: dt.date
    sleep_hours: float | None = None
    soreness_1_to_5: int | None = None
    mood_1_to_5: int | None = None
    appetite_1_to_5: int | None = None
    cycle_start: bool = False


@dataclass(frozen=True)
class Agreement:
    """What coach and client agreed on a day; None where it stayed as it was.

    energy_target_kcal_per_day: food to aim for. phase: the phase that begins. block_starts: a
    training block began. sets_changed: weekly sets were raised or lowered. easier_week: the
    seven days from here on are a lighter week. log_mended: food is logged in another way from
    here on, so earlier logs say nothing about later ones. maintenance_kcal_per_day: where it was
    measured and steered on that day. holds: a person agreed to the hold, which the screen alone does not. sets_step: which way weekly sets go.
    aimed_kcal_per_day: food a coach set by hand beside what is agreed. decides_food: a review changed it.
    """

    day: dt.date
    energy_target_kcal_per_day: float | None = None
    phase: Literal["hold", "build", "cut"] | None = None
    block_starts: bool = False
    sets_changed: bool = False
    easier_week: bool = False
    log_mended: bool = False
    maintenance_kcal_per_day: float | None = None
    holds: bool = False
    sets_step: Literal[-1, 0, 1] = 0
    aimed_kcal_per_day: float | None = None
    decides_food: bool = False


@dataclass(frozen=True)
class History:
    """All a client's record holds, up to and including a day.

    weight_answered_on: the day body weight was last answered to a question; None where the record
    does not say. review_on: the day the current plan set for the next look. away: times on
    which nothing was planned as usual.
    """

    weighings: tuple[Weighing, ...] = ()
    girths: tuple[Girth, ...] = ()
    eating: tuple[DayOfEating, ...] = ()
    top_sets: tuple[TopSet, ...] = ()
    sessions: tuple[SessionMark, ...] = ()
    pains: tuple[Pain, ...] = ()
    notes: tuple[DayNote, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    signs: tuple[SignMark, ...] = ()
    referrals: tuple[OpenReferral, ...] = ()
    weight_answered_on: dt.date | None = None
    review_on: dt.date | None = None
    away: tuple[Away, ...] = ()
