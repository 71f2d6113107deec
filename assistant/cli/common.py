"""What several commands share: options, the knowledge base, one planner a day."""

import datetime as dt
import shlex
from collections.abc import Collection, Sequence

from assistant.clients.aside import aside_words
from assistant.knowledge.nearest import did_you_mean
from assistant.model.case import Case
from assistant.model.documents.flags import Voice
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase

MOST_LISTED = 8


def checked_name(option: str, name: str | None, known: Collection[str]) -> None:
    """Refuse a name that is given but not known. Raises InputProblems."""
    if name is not None and name not in known:
        few = f"; known: {', '.join(known)}" if len(known) <= MOST_LISTED else ""
        text = f"`{name}` is not known{did_you_mean(name, known, few)}"
        raise InputProblems([Problem(option, "unknown-name", text)])


def today() -> dt.date:
    """Return the day where the machine stands."""
    return dt.datetime.now(tz=dt.UTC).astimezone().date()


def parse_day(text: str) -> dt.date:
    """Return a day typed as YYYY-MM-DD. Raises InputProblems."""
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        day = None
    # The standard library reads other spellings too; one spelling is enough.
    if day is None or day.isoformat() != text:
        wrong = f"`{text}` is not a day; write it like 2026-01-12"
        raise InputProblems([Problem("--as-of", "bad-date", wrong)])
    return day


def say_next(*commands: Sequence[str], db: str | None = None, said: str = "Next") -> None:
    """Print what a coach does next, as commands to type; each is the words after `whyplan`.

    db: the record the command at hand was given, so that the next one finds the same. said: what they do.
    """
    more = () if db is None else ("--db", db)
    typed = (shlex.join(["whyplan", *words, *more]) for words in commands)
    print(f"{said}: {', or '.join(typed)}")


def steps_aside(
    case: Case, kb: KnowledgeBase, where: str = "to a file", voice: Voice = "coach"
) -> bool:
    """Print the page for a yes to the question about self-harm, and tell whether it was one."""
    if not case.is_aside:
        return False
    print("\n".join(aside_words(kb, voice)))
    print(f"There is no plan today, and nothing was written {where}.")
    return True


def checked_number(
    place: str, number: int, count: int, what: str, none: str = "there is none"
) -> int:
    """Return a number that names one of so many things, from 1. Raises InputProblems.

    none: what is said where there are no such things.
    """
    if not 1 <= number <= count:
        allowed = f"1 to {count}" if count else f"none, since {none}"
        text = f"`{number}` is no {what}; allowed: {allowed}"
        raise InputProblems([Problem(place, "unknown-number", text)])
    return number
