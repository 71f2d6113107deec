"""One confirmed line of a check-in, as it is kept: a measure, a day, a value. Shapes only."""

import datetime as dt
from dataclasses import dataclass
from typing import Literal, NamedTuple, get_args

from assistant.model.history import LiftSet

Measure = Literal[
    "weight_kg",
    "girth_cm",
    "energy_kcal",
    "protein_g",
    "sleep_hours",
    "session",
    "top_set",
    "soreness_1_to_5",
    "mood_1_to_5",
    "appetite_1_to_5",
    "cycle_start",
    "pain",
    "sign",
    "referral",
]
MEASURES: tuple[str, ...] = get_args(Measure)


class Spot(NamedTuple):
    """What a line is about. Two lines with the same spot say the same thing twice.

    detail: the site of a girth, the exercise of a top set, the joint of a pain, the sign asked about,
    the role of a referral; else empty.
    """

    measure: Measure
    day: dt.date
    detail: str


@dataclass(frozen=True)
class Entry:
    """One line of a check-in.

    value: in the unit of the measure's name; kg for a top set; 1 (done) or 0 (missed) for a
    session; 1 for the start of a cycle; 0 to 10 for pain; 1 (felt) or 0 for a sign; 1 (seen), 0.5 (not
    yet) or 0 (no) for a referral; None takes an earlier line back.
    repetitions, reserve: of a top set. others: the other sets of that lift on the day.
    """

    measure: Measure
    day: dt.date
    value: float | None
    detail: str = ""
    repetitions: int | None = None
    reserve: float | None = None
    others: tuple[LiftSet, ...] = ()

    @property
    def sets(self) -> tuple[LiftSet, ...]:
        """All sets of a lift that the line tells, the heaviest first."""
        return (LiftSet(self.value or 0.0, self.repetitions or 0, self.reserve), *self.others)

    @property
    def spot(self) -> Spot:
        """What the line is about."""
        return Spot(self.measure, self.day, self.detail)
