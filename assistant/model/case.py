"""A case: one person's answers, the day, and (for tests) what a plan for them must say."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value, as_json
from assistant.model.wishes import WeekWishes


@dataclass(frozen=True)
class Decision:
    """A person's dated and reasoned decision about one flag.

    kind: `set_aside` (a coach sets a caution aside) or `cleared` (a professional cleared it).
    by: who. role: as what. on, until: first and last day it is in force. seen: the answers a
    professional saw when clearing; None where nobody wrote them down, so that it covers nothing.
    """

    kind: Literal["set_aside", "cleared"]
    flag: str
    by: str
    reason: str
    on: dt.date
    until: dt.date
    role: str = ""
    seen: Mapping[str, Value] | None = None

    def in_force(self, day: dt.date) -> bool:
        """Tell whether the decision counts on a day."""
        return self.on <= day <= self.until

    def as_written(self) -> dict[str, Any]:
        """Return the decision as plain data, as it stands in a case file."""
        written: dict[str, Any] = {self.kind: self.flag, "by": self.by, "reason": self.reason}
        if self.role:
            written["role"] = self.role
        if self.seen is not None:
            written["seen"] = {
                fact: list(value) if isinstance(value, tuple) else value
                for fact, value in self.seen.items()
            }
        return {**written, "since": self.on.isoformat(), "until": self.until.isoformat()}


@dataclass(frozen=True)
class Override:
    """A coach's change of one line of the plan, which stands until it is withdrawn.

    line: its id, with the element where it is repeated. to: the new value, in SI units. since, until:
    first and last day it counts; until None where it has no end.
    """

    line: str
    to: float | str
    by: str
    reason: str
    since: dt.date
    until: dt.date | None = None

    def in_force(self, day: dt.date) -> bool:
        """Tell whether the change counts on a day."""
        return self.since <= day and (self.until is None or day <= self.until)

    def as_written(self) -> dict[str, Any]:
        """Return the change as plain data, as it stands in a case file."""
        written: dict[str, Any] = {
            "line": self.line, "to": self.to, "by": self.by, "reason": self.reason,
            "since": self.since.isoformat(),
        }  # fmt: skip
        return written if self.until is None else {**written, "until": self.until.isoformat()}


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
    overrides: tuple[Override, ...] = ()

    @property
    def plain_answers(self) -> dict[str, Any]:
        """The answers as plain data."""
        return {fact: as_json(value) for fact, value in self.answers.items()}

    @property
    def is_aside(self) -> bool:
        """Whether there is a yes that lives in the session only: then nothing is written and no plan made."""
        return any(self.answers.get(fact) is True for fact in SESSION_ONLY_FACTS)
