"""The questions asked beside somebody new: a draft each, several at once, gone on with on any day."""

import re
import secrets
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from starlette.responses import Response

from assistant.clients.adding import added
from assistant.clients.aside import aside_words
from assistant.intake.drafts import Draft, Header, is_old, read_header
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.records.store import LONGEST_NAME, handle_of, is_name
from assistant.web.asked import is_yes, last_question
from assistant.web.coach.forms import missing
from assistant.web.dialogues import (
    Held,
    Said,
    opened,
    question_page,
    rows_of,
    taken,
    thrown_away,
    told_page,
)
from assistant.web.visit import NotHere, Visit

_FOLDER, _KEY = "intakes", re.compile(r"[0-9a-f]{16}")


@dataclass(frozen=True)
class Begun:
    """An intake that is not finished.

    key: names its draft in an address, and tells nothing. is_old: nobody went on for long.
    """

    key: str
    name: str
    is_old: bool


def begun(visit: Visit) -> list[Begun]:
    """Return the intakes that are begun, in order of name."""
    found = []
    for path in sorted((visit.serving.folder / _FOLDER).glob("*.jsonl")):
        try:
            name = read_header(path).name
        except InputProblems:
            name = "a draft that cannot be read"
        found.append(Begun(path.stem, name, is_old(path, visit.desk.on)))
    return sorted(found, key=lambda each: each.name.casefold())


def forget_begun(visit: Visit, name: str) -> None:
    """Throw away every unfinished intake of a name."""
    for each in begun(visit):
        if handle_of(each.name) == handle_of(name):
            thrown_away(visit, visit.serving.folder / _FOLDER / f"{each.key}.jsonl")


def new(visit: Visit) -> Response:
    """Show where an intake begins, and those that are begun."""
    return visit.show("coach/new.html", begun=begun(visit), longest=LONGEST_NAME)


def begin(visit: Visit) -> Response:
    """Begin an intake."""
    name = visit.sent("name")
    if handle_of(name) in {client.handle for client in visit.records.clients()}:
        text = f"`{name}` is in the record already; choose another name"
        raise InputProblems([Problem("NAME", "name-taken", text)])
    if not is_name(name):
        raise missing("Name", f"a name is one line of 1 to {LONGEST_NAME} printable characters")
    key = secrets.token_hex(8)
    header = Header(name, "coach", visit.serving.units)
    with opened(visit, visit.serving.folder / _FOLDER / f"{key}.jsonl", header):
        return visit.go(f"/desk/new/{key}")


def ask(visit: Visit) -> Response:
    """Show the question where it stands."""
    with _opened(visit) as (_, held):
        if held.told:
            return told_page(visit, "coach/told.html", held, _here(visit))
        if held.dialogue.in_review:
            return visit.go(f"{_here(visit)}/answers")
        return _question(visit, held)


def answer(visit: Visit) -> Response:
    """Keep an answer, or say what is wrong with it."""
    with _opened(visit) as (draft, held):
        done = taken(visit, draft, held)
        if done.said is not None:
            return _question(visit, held, done.said)
        return visit.go(_here(visit), done.notice)


def answers(visit: Visit) -> Response:
    """Show all answers, each with a way to its question."""
    with _opened(visit) as (_, held):
        if not held.is_complete:
            held.to_first_open()
            return visit.go(_here(visit))
        rows = rows_of(visit, held.dialogue)
        return visit.show("coach/answers.html", rows=rows, here=_here(visit), name=held.name)


def edit(visit: Visit) -> Response:
    """Go from the list of answers to one question."""
    with _opened(visit) as (_, held):
        there = held.to_number(visit.sent("number"))
        return visit.go(_here(visit) if there else f"{_here(visit)}/answers")


def last(visit: Visit) -> Response:
    """Ask the question whose answer is kept nowhere, as the last thing."""
    with _opened(visit) as (_, held):
        if not held.is_complete:
            return visit.go(_here(visit))
        slot = last_question(held.dialogue)
        return visit.show(
            "coach/last.html",
            slot=slot,
            closing="" if slot is None else slot.closing("coach"),
            action=f"{_here(visit)}/last",
            name=visit.sent("name") or held.name,
            go_on="Add to the record, with a first plan",
        )


def drop(visit: Visit) -> Response:
    """Throw an intake away that is not finished."""
    path = _path(visit)
    if visit.sent("sure") != "yes":
        return visit.go("/desk/new", "Nothing was thrown away: tick the box first.")
    thrown_away(visit, path)
    return visit.go("/desk/new", "The draft is gone.")


def finish(visit: Visit) -> Response:
    """End the intake: after a yes to the last question nothing is written, else the client is added."""
    with _opened(visit) as (draft, held):
        if not held.is_complete:
            return visit.go(_here(visit))
        if is_yes(visit.form) and last_question(held.dialogue) is not None:
            return visit.show("coach/aside.html", said=aside_words(visit.desk.kb, "coach"))
        name = visit.sent("name") or held.name
        case = Case(name, visit.desk.on, held.kept)
        client = added(visit.desk, visit.records, name, case, visit.here.name)
        draft.remove()
    thrown_away(visit, _path_of(visit))
    return visit.go(
        f"/desk/c/{client.token}", f"{client.name} is in the record, with a first plan."
    )


def _question(visit: Visit, held: Held, said: Said | None = None) -> Response:
    return question_page(visit, "coach/ask.html", held, _here(visit), said, about=held.name)


def _here(visit: Visit) -> str:
    return f"/desk/new/{visit.path['key']}"


def _path_of(visit: Visit) -> Path:
    key = visit.path.get("key", "")
    if not _KEY.fullmatch(key):
        raise NotHere
    return visit.serving.folder / _FOLDER / f"{key}.jsonl"


def _path(visit: Visit) -> Path:
    """Return where a draft lies. Raises NotHere where there is none."""
    path = _path_of(visit)
    if not path.is_file():
        raise NotHere
    return path


def _opened(visit: Visit) -> AbstractContextManager[tuple[Draft, Held]]:
    path = _path(visit)
    return opened(visit, path, read_header(path))
