"""Dates of gain, maintain and cut phases laid back from a target date.

A phase runs from its first day up to, and not including, its end day.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta

from assistant.calculate.calculator import Weeks, calculator
from assistant.calculate.checks import require_not_negative, require_positive

DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True)
class Span:
    """A named stretch of days: ``start`` belongs to it, ``end`` does not."""

    name: str
    start: date
    end: date

    @property
    def days(self) -> int:
        """Number of days in the span."""
        return (self.end - self.start).days


@dataclass(frozen=True, slots=True)
class PhaseLengths:
    """Lengths in whole weeks a caller asks for; every one comes from the rule base.

    ``cut_weeks`` and ``maintain_weeks`` are wanted, the two ``least`` ones are the shortest
    worth having. Raises ``ValueError`` for negative lengths.
    """

    cut_weeks: int
    maintain_weeks: int
    least_cut_weeks: int
    least_gain_weeks: int

    def __post_init__(self) -> None:
        """Refuse lengths below zero and a least cut above the wanted one."""
        for field in ("cut_weeks", "maintain_weeks", "least_cut_weeks", "least_gain_weeks"):
            require_not_negative(field, float(getattr(self, field)))
        if self.least_cut_weeks > self.cut_weeks:
            message = (
                f"least_cut_weeks: {self.least_cut_weeks} is not allowed; give no more than "
                f"cut_weeks ({self.cut_weeks})"
            )
            raise ValueError(message)


@dataclass(frozen=True, slots=True)
class PhaseLayout:
    """Phases from the start to the target date, with the weeks that could not be given.

    ``missing_weeks`` counts wanted weeks of cut and maintenance that do not fit.
    """

    phases: tuple[Span, ...]
    missing_weeks: int


@calculator("phase.weeks_between", "wk")
def weeks_between(first_date: date, second_date: date) -> float:
    """Return weeks, with fractions, from the first to the second date."""
    return (second_date - first_date).days / DAYS_PER_WEEK


@calculator("phase.add_weeks", "date")
def add_weeks(first_date: date, weeks: Weeks) -> date:
    """Return the date some weeks after another; a part of a week counts as a whole one.

    Raises ``ValueError`` for a negative number of weeks.
    """
    return first_date + timedelta(weeks=math.ceil(require_not_negative("weeks", weeks)))


def lay_back(start: date, target_date: date, lengths: PhaseLengths) -> PhaseLayout:
    """Lay gain, maintain and cut back from a target date.

    The cut ends on the target date, maintenance comes before it, and all time left from the
    start is the gain. With too little time the gain goes first (its days become maintenance when
    they are fewer than the least gain), then maintenance, then the cut down to its least length;
    below that there is no cut and the whole time is maintenance. Raises ``ValueError`` when the
    target date is not after the start.
    """
    total_days = int(require_positive("days from start to target_date", (target_date - start).days))
    total_weeks = total_days // DAYS_PER_WEEK
    cut_weeks = min(lengths.cut_weeks, total_weeks)
    if cut_weeks < lengths.least_cut_weeks:
        cut_weeks = 0
    cut_start = target_date - timedelta(weeks=cut_weeks)
    maintain_weeks = min(lengths.maintain_weeks, total_weeks - cut_weeks)
    maintain_start = cut_start - timedelta(weeks=maintain_weeks)
    if maintain_start - start < timedelta(weeks=lengths.least_gain_weeks):
        maintain_start = start
    spans = (
        Span("gain", start, maintain_start),
        Span("maintain", maintain_start, cut_start),
        Span("cut", cut_start, target_date),
    )
    wanted = lengths.cut_weeks + lengths.maintain_weeks
    given = cut_weeks + (cut_start - maintain_start).days // DAYS_PER_WEEK
    return PhaseLayout(tuple(span for span in spans if span.days > 0), max(wanted - given, 0))
