"""A case: one person's answers, the day, and (for tests) what a plan for them must say."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from assistant.model.values import Value
from assistant.model.wishes import WeekWishes


@dataclass(frozen=True)
class Decision:
    """A person's dated and reasoned decision about one flag.

    kind: `set_aside` (a coach sets a caution aside) or `cleared` (a professional cleared it).
    by: who, by role. on, until: first and last day it is in force.
    """

    kind: Literal["set_aside", "cleared"]
    flag: str
    by: str
    reason: str
    on: dt.date
    until: dt.date

    def in_force(self, day: dt.date) -> bool:
        """Tell whether the decision counts on a day."""
        return self.on <= day <= self.until


@dataclass(frozen=True)
class Case:
    """A checked case. `answers` holds one value for every answered fact id; the rest are unknown.

    name is personal: shown on the page, read by no rule.
    """

    name: str
    as_of: dt.date
    answers: Mapping[str, Value]
    expect: Mapping[str, Any] = field(default_factory=dict)
    expect_reasons: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    decisions: tuple[Decision, ...] = ()
    week: WeekWishes = field(default_factory=WeekWishes)
