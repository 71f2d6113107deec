"""`whyplan intake`: ask the questions, keep a draft, write the case file."""

import argparse
import shlex
import sys
from pathlib import Path

from assistant.cli.common import parse_day, steps_aside, today
from assistant.cli.files import free_path, write_file
from assistant.cli.options import ALONE, RULES, file, option, switch
from assistant.clients.book import knowledge
from assistant.intake.case_file import case_text, completed, read_answers
from assistant.intake.dialogue import Dialogue, Ending, replay, start
from assistant.intake.drafts import (
    DRAFT_KEPT_DAYS,
    Draft,
    Header,
    Remembered,
    draft_path,
    file_name,
    is_old,
    open_draft,
)
from assistant.intake.events import UnitsSwitched
from assistant.intake.form import Audience, Form, form_of
from assistant.intake.quantities import UnitSystem
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.records.store import check_name

NO_NAME = "Unnamed"
_CANNOT = "the case cannot be written here ({}); choose another --out"

OPTIONS = (
    ALONE,
    switch("--imperial", "start in pounds and inches"),
    file("--answers", "answers from a file; no screen"),
    file("--out", "where the case is written", "CASE.yaml"),
    file("--journal", "where the draft is kept"),
    option("--as-of", "day of the case (default: today)", metavar="DATE"),
    option("--name", "name on the case; read by no rule", default=NO_NAME),
    RULES,
)


def run(args: argparse.Namespace) -> int:
    """Run the intake; 0 fine, 1 if no case may be written today. Raises InputProblems."""
    check_name(args.name, "--name")
    as_of = parse_day(args.as_of) if args.as_of else today()
    kb = knowledge(args.rules, None)
    form = form_of(kb, as_of)
    if args.answers is not None:
        return _from_file(args, kb, form)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        text = "there is no terminal to ask in; give the answers with --answers FILE"
        raise InputProblems([Problem("intake", "no-terminal", text)])
    return _from_person(args, kb, form)


def _from_file(args: argparse.Namespace, kb: KnowledgeBase, form: Form) -> int:
    case = read_answers(args.answers, kb, args.name, form.as_of)
    if steps_aside(case, kb, voice="self" if args.alone else "coach"):
        return 1
    answers, missing = completed(case.answers, form)
    out = _free_path(args.out, case.name)
    as_of = form.as_of if args.as_of else case.as_of
    name = case.name if args.name == NO_NAME else args.name
    write_file(out, case_text(name, as_of, answers), _CANNOT)
    if missing:
        verb = "question has" if len(missing) == 1 else "questions have"
        print(f"{len(missing)} {verb} no answer and count as unknown: {', '.join(missing)}.")
    _tell_where(out, name, "self" if args.alone else "coach")
    return 0


def _from_person(args: argparse.Namespace, kb: KnowledgeBase, form: Form) -> int:
    from assistant.intake.screen import Screen  # noqa: PLC0415 - only a terminal needs it

    out = _free_path(args.out, args.name)
    audience: Audience = "self" if args.alone else "coach"
    units = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    path = args.journal or draft_path(args.name)
    old = is_old(path, form.as_of)
    draft, remembered = open_draft(path, Header(args.name, audience, units), kb, form)
    with draft:
        if args.journal is None and remembered.events:
            _check_whose(args.name, remembered, path)
        dialogue = _resumed(form, remembered)
        if args.imperial and dialogue.units is not UnitSystem.IMPERIAL:
            switched = UnitsSwitched(UnitSystem.IMPERIAL)
            draft.remember(switched)
            dialogue = replay(dialogue, [switched])
        last, ending = Screen(draft.remember).run(
            dialogue, _greeting(remembered, draft, audience, old=old)
        )
        own = args.name == NO_NAME or args.journal is not None
        again = f"whyplan intake --journal {shlex.quote(str(path))}" if own else "The same command"
        return _ended(last, ending, draft, out, remembered.header.name, again)


def _check_whose(name: str, remembered: Remembered, path: Path) -> None:
    """Refuse a draft that may be somebody else's: no answer of one person is shown to the next."""
    whose = remembered.header.name
    if name == NO_NAME or whose != name:
        named = "without a name" if whose == NO_NAME else f"for {whose}"
        text = (
            f"an unfinished intake {named} is kept there; go on with it by --journal and this file, "
            "begin anew with --name NAME, or delete the file"
        )
        raise InputProblems([Problem(str(path), "other-draft", text)])


def _resumed(form: Form, remembered: Remembered) -> Dialogue:
    header = remembered.header
    return replay(start(form, header.audience, header.units), remembered.events)


def _greeting(remembered: Remembered, draft: Draft, asked: Audience, *, old: bool) -> list[str]:
    lines = list(remembered.notes)
    if remembered.events:
        whose = remembered.header.name
        lines.append(
            f"Going on with the draft for {whose} in {draft.path}. To start over, delete that file."
        )
        if remembered.header.audience != asked:
            lines.append("The wording stays the one the draft was started with.")
        if old:
            lines.append(
                f"This draft is more than {DRAFT_KEPT_DAYS} days old. Answers nobody uses should "
                "be deleted: finish it, or delete the file."
            )
    else:
        lines.append(
            "One question at a time. Every answer is kept as soon as you press Enter, so you can "
            "leave at any point with save or Ctrl-C and go on later. Why we ask: why, ? or F1. "
            "Back: back or Ctrl-B. Other units: units or F2."
        )
    return lines


def _ended(last: Dialogue, ending: Ending, draft: Draft, out: Path, name: str, again: str) -> int:
    if ending is Ending.FINISHED:
        write_file(out, case_text(name, last.form.as_of, last.settled), _CANNOT)
        draft.remove()
        _tell_where(out, name, last.audience)
        return 0
    print(f"Your answers are kept in {draft.path}.")
    if ending is Ending.ASIDE:
        print(f"No case file was written today. {again} opens your answers another day.")
        return 1
    print(f"{again} goes on where you left.")
    return 0


def _tell_where(out: Path, name: str, audience: Audience) -> None:
    file, alone = shlex.quote(str(out)), audience == "self"
    print(f"Your answers are in {out}" if alone else f"Case written to {out}")
    print(f"Next: whyplan plan {file}{' --for client' if alone else ''}")
    if name != NO_NAME:
        keep = "To go on with it over months" if alone else "To keep the client over months"
        print(f"{keep}: whyplan client add {shlex.quote(name)} --case {file}")


def _free_path(out: Path | None, name: str) -> Path:
    """Return where the case goes; an existing file is never written over."""
    path = free_path(out if out is not None else Path(f"{file_name(name)}.yaml"))
    if not path.parent.is_dir():
        text = "the folder for the case does not exist; make it first or choose another --out"
        raise InputProblems([Problem(str(path), "no-folder", text)])
    return path
