"""`whyplan plan --log`: every plan printed is also written down; the print carries its place in the log."""

import argparse
import datetime as dt
from pathlib import Path

from assistant.cli.progress import say
from assistant.clients.person import Person
from assistant.model.errors import InputProblems, Problem
from assistant.model.places import LOG, data_folder
from assistant.model.programme import Programme

# What argparse stores for a bare `--log`.
USUAL = Path()


def log_path(given: Path | None) -> Path:
    """Return the log that is meant; the usual one lies in the user's own data folder."""
    if given is not None and given != USUAL:
        return given
    return data_folder() / LOG


def log_plan(args: argparse.Namespace, person: Person, programme: Programme | None) -> str:
    """Write a decision down and return what the print carries: sequence and head; "" without a log.

    programme: the sessions printed with it. Raises InputProblems if the log cannot be written; the plan
    is then not printed either.
    """
    if args.log is None:
        return ""
    from assistant.audit.client_tag import client_tag
    from assistant.audit.decision import decision_body, week_made
    from assistant.audit.store import append

    if person.case.is_aside:
        say(
            "Not logged: an answer in this case is kept for the session only, so nothing of it is "
            "written down."
        )
        return ""
    path = log_path(args.log)
    _make_folder(path.parent, usual=args.log == USUAL)
    week = None
    if programme is not None:
        week = week_made(
            programme,
            args.seed,
            args.missed,
            person.kept,
            lighter=person.lighter,
        )
    body = decision_body(
        person.planner,
        person.case,
        audience=args.audience,
        written=now(),
        measured=person.found,
        week=week,
    )
    done = append(path, lambda: {**body, "client": client_tag(person.case.name, path)})
    for note in done.notes:
        say(note)
    return str(done.link)


def now() -> dt.datetime:
    """Return the moment, in UTC."""
    return dt.datetime.now(tz=dt.UTC)


def _make_folder(folder: Path, *, usual: bool) -> None:
    try:
        if usual:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        found = folder.is_dir()
    except OSError:
        found = False
    if not found:
        text = "the folder for the log does not exist; make it first or choose another --log"
        raise InputProblems([Problem(str(folder), "no-folder", text)])
