"""What the coach's forms share: who does it and why, and what was wrong with what was typed."""

import datetime as dt
from collections.abc import Iterable
from typing import Any, Protocol, TypeVar

from assistant.clients.kept import Why
from assistant.model.chain import digest, plain_json
from assistant.model.errors import InputProblems, Problem
from assistant.model.version import Cause
from assistant.web.visit import Visit


def missing(place: str, text: str) -> InputProblems:
    """Return that a field was left empty."""
    return InputProblems([Problem(place, "missing-field", text)])


def by_of(visit: Visit) -> str:
    """Return who does it: what was typed, else the name the session was opened with.

    In a team it is whoever signed in, so nobody writes in another's name.
    """
    if visit.serving.team:
        return visit.here.name
    return visit.sent("by") or ("" if "by" in visit.form else visit.here.name)


def why_of(visit: Visit, cause: Cause) -> Why:
    """Return who and why, as they were typed."""
    return Why(cause, by_of(visit), visit.sent("reason"))


def day_of(visit: Visit, name: str) -> dt.date | None:
    """Return a day that was typed; None where the field is empty. Raises InputProblems."""
    typed = visit.sent(name)
    try:
        return dt.date.fromisoformat(typed) if typed else None
    except ValueError:
        text = f"`{typed[:40]}` is not a day; write it like 2026-01-12"
        raise InputProblems([Problem(f"--{name}", "bad-date", text)]) from None


def number_of(visit: Visit, name: str) -> int | None:
    """Return a whole number that was typed; None where the field is empty. Raises InputProblems."""
    typed = visit.sent(name)
    try:
        return int(typed) if typed else None
    except ValueError:
        text = f"`{typed[:40]}` is not a whole number"
        raise InputProblems([Problem(name, "bad-number", text)]) from None


class Written(Protocol):
    """Something that is kept as plain data."""

    def as_written(self) -> dict[str, Any]: ...  # noqa: D102 - said above


Kept = TypeVar("Kept", bound=Written)


def mark_of(kept: Written) -> str:
    """Return a mark by which a form names one of several things that are kept, whatever came or went since."""
    return digest(plain_json(kept.as_written()))[:16]


def marked(visit: Visit, kept: Iterable[Kept]) -> Kept:
    """Return the one a form names. Raises InputProblems where it is not there any more."""
    found = next((each for each in kept if mark_of(each) == visit.sent("mark")), None)
    if found is None:
        text = "it was taken back meanwhile; nothing was changed"
        raise InputProblems([Problem("Withdraw", "unknown-change", text)])
    return found
