"""The draft of an intake: one JSON line for every confirmed answer, forced to the disk.

A draft survives a kill at any moment: a line counts once it is complete, and a torn last line is
cut off. The file is readable by its owner alone. The answer to the question about self-harm is
not in it; that the support text was shown is.
"""

import datetime as dt
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from io import FileIO
from pathlib import Path
from typing import Any, Self

from assistant.casefiles.answers import check_answers
from assistant.casefiles.safe_files import try_lock
from assistant.intake.events import Confirmed, Event, SupportShown, UnitsSwitched, to_keep
from assistant.intake.form import Audience, Form, Slot
from assistant.intake.quantities import UnitSystem
from assistant.knowledge.files import slug
from assistant.knowledge.values import read_value
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.knowledge import KnowledgeBase
from assistant.model.places import drafts_folder
from assistant.model.values import as_json

FORMAT = 1
OWNER_ONLY = 0o600
# How long an unused intake is kept (our own judgement on health answers, no published line).
DRAFT_KEPT_DAYS = 30


@dataclass(frozen=True)
class Header:
    """First line of a draft: whom it is for, and how it is asked."""

    name: str
    audience: Audience
    units: UnitSystem


@dataclass(frozen=True)
class Remembered:
    """A draft as read back. notes: what a person should know about it, e.g. a torn last line."""

    header: Header
    events: tuple[Event, ...]
    notes: tuple[str, ...]


class Draft:
    """An open draft. Every `remember` is on the disk when it returns.

    Use as a context manager. `remove` deletes the file once the case is safely written.
    """

    def __init__(self, path: Path, stream: FileIO) -> None:
        """Take over an open append stream; use `open_draft` to get one."""
        self.path = path
        self._stream = stream

    def remember(self, event: Event) -> None:
        """Append one event, without a session-only answer."""
        self._append(_line_of(to_keep(event)))

    def start(self, header: Header) -> None:
        """Write the first line."""
        line = {"kind": "draft", "format": FORMAT, "name": header.name}
        self._append({**line, "audience": header.audience, "units": header.units.value})

    def _append(self, line: Mapping[str, Any]) -> None:
        data = (json.dumps(line, ensure_ascii=False) + "\n").encode()
        written = 0
        while written < len(data):
            written += self._stream.write(data[written:]) or 0
        os.fsync(self._stream.fileno())

    def remove(self) -> None:
        """Delete the draft."""
        self.path.unlink(missing_ok=True)

    def __enter__(self) -> Self:
        """Return the draft itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the file."""
        self._stream.close()


def open_draft(
    path: Path, header: Header, knowledge: KnowledgeBase, form: Form
) -> tuple[Draft, Remembered]:
    """Open a draft for going on, or start one.

    A draft that is there keeps its own header. Raises InputProblems with file and line for a file
    that is no draft, and for one that another process has open.
    """
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    stream = _open_locked(path)
    try:
        data = path.read_bytes()
        complete, torn = _complete_part(data)
        remembered = read_draft(complete, str(path), knowledge, form)
        if torn:
            note = "The last line of the draft was cut off in the middle and is left out."
            os.ftruncate(stream.fileno(), len(complete.rstrip(b"\n")) + 1 if complete else 0)
            if remembered is not None:
                remembered = Remembered(
                    remembered.header, remembered.events, (*remembered.notes, note)
                )
        elif complete and not complete.endswith(b"\n"):
            stream.write(b"\n")
        draft = Draft(path, stream)
        if remembered is None:
            draft.start(header)
            remembered = Remembered(header, (), ())
    except BaseException:
        stream.close()
        raise
    return draft, remembered


def draft_path(name: str) -> Path:
    """Return where the draft of an intake in a terminal is kept unless another place is named."""
    return drafts_folder() / f"{file_name(name)}.jsonl"


def file_name(name: str) -> str:
    """Return the name of a file about somebody."""
    return slug(name) or "client"


def is_old(path: Path, today: dt.date) -> bool:
    """Tell whether a draft was left alone for so long that it should be finished or deleted."""
    if not path.exists():
        return False
    written = dt.datetime.fromtimestamp(path.stat().st_mtime, tz=dt.UTC).date()
    return (today - written).days > DRAFT_KEPT_DAYS


def forget_draft(name: str) -> bool:
    """Delete the unfinished intakes of that name, whatever their files are called."""
    found = [path for path in draft_path(name).parent.glob("*.jsonl") if _is_of(path, name)]
    for path in found:
        path.unlink()
    return bool(found)


def _is_of(path: Path, name: str) -> bool:
    # Whatever else is wrong with a draft, whoever is forgotten is gone from it, too.
    try:
        header = json.loads(path.read_bytes().partition(b"\n")[0])
    except (OSError, ValueError):
        return False
    return isinstance(header, dict) and header.get("name") == name


def read_header(path: Path) -> Header:
    """Return whom a draft is for, and how it is asked. Raises InputProblems for what is no draft."""
    try:
        with path.open("rb") as stream:
            first = stream.readline()
    except OSError as error:
        text = f"the draft cannot be read ({error.strerror})"
        raise InputProblems([Problem(str(path), "no-draft", text)]) from error
    return _header(_parsed(first, f"{path}:1"), f"{path}:1")


def _open_locked(path: Path) -> FileIO:
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, OWNER_ONLY)
    except OSError as error:
        text = f"the draft cannot be opened ({error.strerror}); choose another --journal"
        raise InputProblems([Problem(str(path), "no-draft", text)]) from error
    path.chmod(OWNER_ONLY)
    if not try_lock(descriptor):
        os.close(descriptor)
        text = "this draft is open in another window; close that one first"
        raise InputProblems([Problem(str(path), "draft-in-use", text)])
    return FileIO(descriptor, "a")


def _complete_part(data: bytes) -> tuple[bytes, bool]:
    """Return the data up to the last complete line, and whether a torn rest was cut."""
    head, newline, tail = data.rpartition(b"\n")
    if not tail:
        return data, False
    try:
        whole = isinstance(json.loads(tail), dict)
    except ValueError:
        whole = False
    return (data, False) if whole else (head + newline, True)


def read_draft(
    data: bytes, shown_as: str, knowledge: KnowledgeBase, form: Form
) -> Remembered | None:
    """Return what complete lines of a draft say; None if there are none.

    An answer that the present questions no longer ask, or no longer allow, is left out with a
    note. Raises InputProblems with file and line for anything that is not a line of a draft.
    """
    lines = [_parsed(line, f"{shown_as}:{n}") for n, line in enumerate(data.splitlines(), start=1)]
    if not lines:
        return None
    header = _header(lines[0], f"{shown_as}:1")
    asked = {slot.fact: slot for slot in form.slots}
    events: list[Event] = []
    notes: list[str] = []
    for number, line in enumerate(lines[1:], start=2):
        event = _event(line, f"{shown_as}:{number}", knowledge, asked)
        if isinstance(event, str):
            notes.append(event)
        else:
            events.append(event)
    return Remembered(header, tuple(events), tuple(notes))


def _parsed(line: bytes, place: str) -> dict[str, Any]:
    try:
        parsed = json.loads(line)
    except ValueError:
        parsed = None
    if not isinstance(parsed, dict):
        raise _not_a_draft(place)
    return parsed


def _not_a_draft(place: str) -> InputProblems:
    text = "this is not a line of a draft; choose another --journal or put the file aside"
    return InputProblems([Problem(place, "bad-draft", text)])


def _header(line: Mapping[str, Any], place: str) -> Header:
    audience, name = line.get("audience"), line.get("name")
    if line.get("kind") != "draft" or line.get("format") != FORMAT or not isinstance(name, str):
        raise _not_a_draft(place)
    if audience not in ("coach", "self") or line.get("units") not in set(UnitSystem):
        raise _not_a_draft(place)
    return Header(name, "coach" if audience == "coach" else "self", UnitSystem(line["units"]))


def _event(
    line: Mapping[str, Any], place: str, knowledge: KnowledgeBase, asked: Mapping[str, Slot]
) -> Event | str:
    kind, fact = line.get("kind"), line.get("fact")
    if kind == "units" and line.get("units") in set(UnitSystem):
        return UnitsSwitched(UnitSystem(line["units"]))
    if not isinstance(fact, str) or kind not in {"answer", "support_shown"}:
        raise _not_a_draft(place)
    if fact not in asked:
        return f"`{fact}` is no longer asked; its answer is left out."
    if kind == "support_shown":
        return SupportShown(fact)
    again = f"`{fact}` no longer allows the answer in the draft; it is asked again."
    if asked[fact].leads_to:
        try:
            return Confirmed(
                fact, read_value(asked[fact].declaration, knowledge.book, line.get("value"))
            )
        except Refused:
            return again
    answers, problems = check_answers({fact: line.get("value")}, knowledge)
    return again if problems else Confirmed(fact, answers[fact])


def _line_of(event: Event) -> dict[str, Any]:
    match event:
        case Confirmed():
            return {"kind": "answer", "fact": event.fact, "value": as_json(event.value)}
        case UnitsSwitched():
            return {"kind": "units", "units": event.units.value}
        case SupportShown():
            return {"kind": "support_shown", "fact": event.fact}
