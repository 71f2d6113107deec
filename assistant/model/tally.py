"""What the plans of many clients come to: which rules fired, what people changed by hand, who was seen."""

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from assistant.model.wishes import EDIT_KINDS

_DAY = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True)
class HandChange:
    """One thing that a person decided otherwise than the rules.

    line: of the plan, `week.replace[squat]` for an edit of the week, `set_aside[FLAG]` for a warning. rule: behind
    the line; empty where none is known. day: first one, as YYYY-MM-DD. was: None where it is not told.
    """

    line: str
    rule: str
    by: str
    day: str
    reason: str
    was: Any = None
    to: Any = None

    @property
    def direction(self) -> str:
        """Which way the value went: up or down, for days later or earlier."""
        if _is_number(self.was) and _is_number(self.to):
            return "up" if self.to > self.was else "down"
        if _is_day(self.was) and _is_day(self.to):
            return "later" if self.to > self.was else "earlier"
        return "other"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_day(value: object) -> bool:
    return isinstance(value, str) and _DAY.fullmatch(value) is not None


class Rate(NamedTuple):
    """In how many logged plans a rule fired, and in how many of them its line was changed by hand."""

    rule: str
    fired: int
    changed: int


class Tally:
    """Counts while logs and records are read; who a client is only keeps one thing from counting twice.

    plans: logged ones, by month. fired: by rule, in how many of them. changed: by rule, in which of them its
    line was changed. referrals: by client and role, what became of them; "" where only a log tells of them.
    """

    def __init__(self) -> None:
        """Begin with nothing."""
        self.plans: Counter[str] = Counter()
        self.clients: set[str] = set()
        self.fired: Counter[str] = Counter()
        self.changed: dict[str, set[int]] = {}
        self.referrals: dict[tuple[str, str], str] = {}
        self._changes: dict[tuple[object, ...], HandChange] = {}

    @property
    def changes(self) -> tuple[HandChange, ...]:
        """Every change by hand, each once however many plans it stood in."""
        return tuple(self._changes.values())

    def rates(self) -> tuple[Rate, ...]:
        """Return each rule that fired, the most often changed first, then the most often fired."""
        rows = (
            Rate(rule, self.fired[rule], len(self.changed.get(rule, ())))
            for rule in {*self.fired, *self.changed}
        )
        return tuple(sorted(rows, key=lambda row: (-row.changed, -row.fired, row.rule)))

    def set_by_hand(self, key: tuple[object, ...], change: HandChange) -> None:
        """Take in a change of a past plan; the last one with a key counts."""
        self._changes[key] = change

    def standing(
        self, who: str, written: Mapping[str, Any], rule: str, was: Callable[[], object]
    ) -> None:
        """Take in a change of a line that stands, as a case file has it."""
        line, since, to = written["line"], written["since"], written["to"]
        key = (who, line, since, str(to))
        if key not in self._changes:
            said = (written["by"], since, written["reason"])
            self._changes[key] = HandChange(line, rule, *said, was(), to)

    def edited(self, who: str, written: Mapping[str, Any]) -> None:
        """Take in an edit of the week, as a case file has it. Raises ValueError for one of no kind."""
        (kind,) = (each for each in EDIT_KINDS if each in written)
        line = f"week.{kind}[{written[kind]}]"
        said = (written["by"], written["since"], written["reason"])
        more = str(sorted((name, str(value)) for name, value in written.items()))
        self._changes.setdefault((who, line, more), HandChange(line, "", *said))

    def decided(self, who: str, kind: str, flag: str, written: Mapping[str, Any]) -> None:
        """Take in a decision about a warning."""
        line = f"{kind}[{flag}]"
        said = (written["by"], written["since"], written["reason"])
        self._changes.setdefault((who, line, written["since"]), HandChange(line, "", *said))
