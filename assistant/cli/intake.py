"""`whyplan intake`: ask the questions, keep a draft, write the case file."""

import argparse
import shlex
import sys
from dataclasses import replace
from pathlib import Path

from assistant.cli.common import parse_day, steps_aside, today
from assistant.cli.files import free_path, write_file
from assistant.cli.intake_words import draft_of, kept_draft, new_words
from assistant.cli.plan import own_plan
from assistant.clients.book import knowledge, planner
from assistant.clients.person import Person
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
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.records.store import check_name

NO_NAME = "Unnamed"
_CANNOT = "the case cannot be written here ({}); choose another --out"


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
    units = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    out = _free_path(args.out, case.name)
    as_of = form.as_of if args.as_of else case.as_of
    name = case.name if args.name == NO_NAME else args.name
    write_file(out, case_text(name, as_of, answers), _CANNOT)
    if missing:
        verb = "question has" if len(missing) == 1 else "questions have"
        named = "" if args.alone else f": {', '.join(missing)}"
        print(f"{len(missing)} {verb} no answer and count as unknown{named}.")
    if args.alone:
        _print_plan(args, replace(case, name=name, as_of=as_of, answers=answers), units)
    _tell_where(out, name, alone=args.alone)
    return 0


def _from_person(args: argparse.Namespace, kb: KnowledgeBase, form: Form) -> int:
    from assistant.intake.screen import Screen

    out = _free_path(args.out, args.name)
    audience: Audience = "self" if args.alone else "coach"
    units = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    path, again = _where_kept(args)
    old = is_old(path, form.as_of)
    draft, remembered = open_draft(path, Header(args.name, audience, units), kb, form)
    with draft:
        if args.journal is None and not args.alone and remembered.events:
            _check_whose(args.name, remembered, path)
        dialogue = _resumed(form, remembered)
        if args.imperial and dialogue.units is not UnitSystem.IMPERIAL:
            switched = UnitsSwitched(UnitSystem.IMPERIAL)
            draft.remember(switched)
            dialogue = replay(dialogue, [switched])
        last, ending = Screen(draft.remember).run(
            dialogue, _greeting(remembered, draft, audience, again, old=old)
        )
        code = _ended(last, ending, draft, out, remembered.header.name, again)
        if ending is Ending.FINISHED:
            alone, name = last.audience == "self", remembered.header.name
            if alone:
                _print_plan(args, Case(name, form.as_of, last.settled), last.units)
            _tell_where(out, name, alone=alone)
        return code


def _where_kept(args: argparse.Namespace) -> tuple[Path, str]:
    """Return where the draft lies, and what is typed to go on with it. Raises InputProblems.

    Of somebody alone only who has the words, or names the file, is shown a draft.
    """
    if args.journal is not None or (args.name == NO_NAME and not args.alone):
        path = args.journal or draft_path(args.name)
        return path, f"whyplan intake --journal {shlex.quote(str(path))}"
    if not args.alone:
        return draft_path(args.name), "The same command"
    words = args.words or new_words()
    path = kept_draft(words) if args.words else draft_of(words)
    return path, f'whyplan intake --self --words "{words}"'


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


def _greeting(
    remembered: Remembered, draft: Draft, asked: Audience, again: str, *, old: bool
) -> list[str]:
    lines = list(remembered.notes)
    if remembered.events and asked == "self":
        lines.append(
            "Going on where I left. To start over, I leave with save and begin without --words."
        )
    elif remembered.events:
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
        if asked == "self":
            lines.append(f"To go on another day I type: {again}")
            lines.append("Nobody else on this computer is shown my answers without these words.")
    return lines


def _ended(last: Dialogue, ending: Ending, draft: Draft, out: Path, name: str, again: str) -> int:
    if ending is Ending.FINISHED:
        write_file(out, case_text(name, last.form.as_of, last.settled), _CANNOT)
        draft.remove()
        return 0
    print(
        "Your answers are kept."
        if last.audience == "self"
        else f"Your answers are kept in {draft.path}."
    )
    if ending is Ending.ASIDE:
        print(f"No case file was written today. {again} opens your answers another day.")
        return 1
    print(f"{again} goes on where you left.")
    return 0


def _print_plan(args: argparse.Namespace, case: Case, units: UnitSystem) -> None:
    """Print the plan of a person who answered alone: what they came for."""
    print("My plan is being made; this takes a few seconds.", flush=True)
    mine = replace(case, name="me") if case.name == NO_NAME else case
    person = Person(mine, planner(args.rules, None, case.as_of, None), None)
    print("\n" + own_plan(person, imperial=units is UnitSystem.IMPERIAL).text())


def _tell_where(out: Path, name: str, *, alone: bool) -> None:
    file = shlex.quote(str(out))
    if alone:
        print(
            f"My answers are in {out}. They are as private as a diary; I delete the file when I like."
        )
        print(f"My plan again, and all of it: whyplan plan {file} --for me --full")
        print("To go on with it over months, in a browser: whyplan serve --self")
        return
    print(f"Case written to {out}")
    print(f"Next: whyplan plan {file}")
    if name != NO_NAME:
        print(
            f"To keep the client over months: whyplan client add {shlex.quote(name)} --case {file}"
        )


def _free_path(out: Path | None, name: str) -> Path:
    """Return where the case goes; an existing file is never written over."""
    path = free_path(out if out is not None else Path(f"{file_name(name)}.yaml"))
    if not path.parent.is_dir():
        text = "the folder for the case does not exist; make it first or choose another --out"
        raise InputProblems([Problem(str(path), "no-folder", text)])
    return path
