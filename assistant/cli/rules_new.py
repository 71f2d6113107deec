"""`whyplan rules new`: begin a rule, a flag, an exercise or a question, with its gaps marked."""

import argparse
import re
from collections.abc import Collection, Mapping
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import checked_name
from assistant.cli.files import write_file
from assistant.knowledge import load_knowledge, rules_directory
from assistant.knowledge.drafting import read_draft
from assistant.knowledge.files import rule_file_name
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.skeleton import (
    HOW_TO_HEAD,
    POSES_HEAD,
    TITLE,
    Wish,
    exercise_row,
    flag_text,
    how_to_row,
    not_drawn_row,
    question_rows,
    rule_text,
)

_RULE_ID = re.compile(r"[A-Z]{3}-[A-Z0-9_-]+")
_NAME = re.compile(r"[a-z][a-z0-9_]*")
_FACT = re.compile(r"[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*")
_CANNOT = "this cannot be written here ({}); choose another place"
# What each kind cannot be begun without.
_NEEDS = {
    "rule": ("stage", "sets"),
    "flag": ("severity",),
    "exercise": ("pattern",),
    "question": ("section",),
}


def run_new(args: argparse.Namespace) -> int:
    """Begin something; 1 if more is wrong with the book than what is still to be written."""
    for name in _NEEDS[args.kind]:
        if getattr(args, name) is None:
            article = "an" if args.kind[0] in "aeiou" else "a"
            text = f"{article} {args.kind} needs it; say --{name} and what it is to be"
            raise InputProblems([Problem(f"--{name}", "missing-option", text)])
    kb = _book(args)
    for name in args.reads:
        checked_name("--reads", name, kb.facts)
    return _begin(args, _KINDS[args.kind](args, kb))


def _rule(args: argparse.Namespace, kb: KnowledgeBase) -> dict[Path, str]:
    checked_name("--stage", args.stage, kb.book.stages)
    checked_name("--sets", args.sets, kb.facts)
    checked_name("--calculate", args.calculate, CALCULATORS)
    _new_name(args, _RULE_ID, "rule id; write three capitals, a dash and more, e.g. VOL-140")
    if args.name in kb.rules:
        text = f"rule `{args.name}` stands already at {kb.places[args.name]}; choose another id"
        raise InputProblems([Problem("ID", "rule-exists", text)])
    wish = Wish(args.name, args.stage, args.title or TITLE, args.sets, args.reads, args.calculate)

    path = _folder(args) / args.stage / rule_file_name(args.name, args.title)
    return _new_file(path, rule_text(wish, kb, CALCULATORS))


def _flag(args: argparse.Namespace, kb: KnowledgeBase) -> dict[Path, str]:
    _new_name(args, _NAME, "name; write small letters, digits and _", kb.flags)
    text = flag_text(args.name, args.severity, args.reads, kb)
    return _new_file(_folder(args) / "flags" / f"{args.name}.yaml", text)


def _exercise(args: argparse.Namespace, kb: KnowledgeBase) -> dict[Path, str]:
    path = _folder(args) / "exercises.yaml"
    if "exercises" not in kb.files:
        text = "it is not there, or not written to its end; do that first"
        raise InputProblems([Problem(str(path), "missing-file", text)])
    _new_name(args, _NAME, "name; write small letters, digits and _", kb.exercises.by_id)
    checked_name("--pattern", args.pattern, [each.id for each in kb.exercises.patterns])
    begun = {path: _with_row(path, exercise_row(args.name, args.pattern, kb))}
    if kb.how_to:
        said = _folder(args) / "how_to" / f"{args.pattern}.yaml"
        row = how_to_row(args.name)
        begun[said] = _with_row(said, row) if said.exists() else HOW_TO_HEAD + row
    if kb.poses:
        drawn = _folder(args) / "poses" / f"{args.pattern}.yaml"
        text = drawn.read_text(encoding="utf-8") if drawn.exists() else POSES_HEAD
        begun[drawn] = text.rstrip("\n") + "\n" + not_drawn_row(args.name, text)
    return begun


def _question(args: argparse.Namespace, kb: KnowledgeBase) -> dict[Path, str]:
    sections = [section.id for section in kb.sections]
    checked_name("--section", args.section, sections)
    _new_name(args, _FACT, "answer; write e.g. client.shoe_size", kb.facts)
    family = args.name.partition(".")[0]
    shelf = {f: kb.places[f"fact:{f}"].file for f in kb.facts if kb.facts[f].origin == "answer"}
    declared = next((f for name, f in shelf.items() if name.partition(".")[0] == family), None)
    if declared is None:
        families = sorted({name.partition(".")[0] for name in shelf})
        text = f"no answer begins with `{family}.`; known: {', '.join(families)}"
        raise InputProblems([Problem("FACT", "unknown-name", text)])
    fact, question = question_rows(args.name, args.type, args.section, args.tier)
    root = _folder(args).resolve().parent
    facts, asked = root / declared, root / kb.places[f"section:{args.section}"].file
    return {facts: _with_row(facts, fact), asked: _with_row(asked, question)}


def _book(args: argparse.Namespace) -> KnowledgeBase:
    """The book as it stands; what else is begun and not written yet does not matter here."""
    draft, problems = read_draft(args.rules, calculators=CALCULATORS)
    if draft is None or any(problem.code != "unwritten" for problem in problems):
        raise InputProblems(problems)
    return draft


def _new_name(
    args: argparse.Namespace, form: re.Pattern[str], what: str, taken: Collection[str] = ()
) -> None:
    if form.fullmatch(args.name) is None:
        raise InputProblems([Problem("NAME", "bad-value", f"`{args.name}` is no {what}")])
    if args.name in taken:
        text = f"`{args.name}` is there already; choose another name"
        raise InputProblems([Problem("NAME", "name-exists", text)])


def _folder(args: argparse.Namespace) -> Path:
    return rules_directory() if args.rules is None else Path(args.rules)


def _with_row(path: Path, row: str) -> str:
    """The text of a file with a row behind its last list."""
    text = path.read_text(encoding="utf-8")
    first = row.splitlines()[0]
    if first in text.splitlines():
        told = f"`{first.strip(' -')}` is begun there already; write that, or choose another name"
        raise InputProblems([Problem(str(path), "name-exists", told)])
    return text.rstrip("\n") + "\n" + row


def _new_file(path: Path, text: str) -> dict[Path, str]:
    if path.exists():
        told = "it is begun already; write that, or choose another name"
        raise InputProblems([Problem(str(path), "name-exists", told)])
    return {path: text}


def _begin(args: argparse.Namespace, texts: Mapping[Path, str]) -> int:
    """Write the files and tell what is to be written in them; 1 if anything else is wrong."""
    for path, text in texts.items():
        path.parent.mkdir(exist_ok=True)
        write_file(path, text, _CANNOT)
        print(f"Begun in {path}")
    try:
        load_knowledge(args.rules, calculators=CALCULATORS, use_cache=False)
    except InputProblems as error:
        parent = _folder(args).resolve().parent
        mine = {path.resolve().relative_to(parent).as_posix() for path in texts}
        print("The book is refused until this is done; whyplan check tells what is left:")
        for problem in error.problems:
            if problem.code != "unwritten" or problem.place.rpartition(":")[0] in mine:
                print(f"  {problem}")
        return 0 if all(problem.code == "unwritten" for problem in error.problems) else 1
    return 0


_KINDS = {"rule": _rule, "flag": _flag, "exercise": _exercise, "question": _question}
