"""`whyplan rules new`: begin a rule, a flag, an exercise or a question, with its gaps marked."""

import argparse
import re
from collections.abc import Collection, Mapping
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import checked_name, write_file
from assistant.knowledge import load_knowledge, rules_directory
from assistant.knowledge.files import rule_file_name
from assistant.knowledge.load import read_draft
from assistant.model.documents.flags import SEVERITIES
from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.skeleton import (
    TITLE,
    Wish,
    exercise_row,
    flag_text,
    question_rows,
    rule_text,
)

_RULE_ID = re.compile(r"[A-Z]{3}-[A-Z0-9_-]+")
_NAME = re.compile(r"[a-z][a-z0-9_]*")
_FACT = re.compile(r"[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*")


def add_parser(actions: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register `new` and the kinds of things it begins."""
    parser = actions.add_parser("new", help="begin a rule, a flag, an exercise or a question")
    kinds = parser.add_subparsers(dest="kind", metavar="KIND", required=True)
    rule = kinds.add_parser("rule", help="a rule in the folder of its stage")
    rule.add_argument("name", metavar="ID", help="three capitals, a dash, more, e.g. VOL-140")
    rule.add_argument("--stage", required=True, help="the stage it runs in, also its folder")
    rule.add_argument("--title", default=TITLE)
    rule.add_argument("--sets", required=True, metavar="FACT", help="the fact it concludes")
    rule.add_argument("--calculate", metavar="NAME", help="the calculator that works it out")
    rule.set_defaults(run=run_rule)
    flag = kinds.add_parser("flag", help="a flag of the screen: one file in rules/flags")
    flag.add_argument("name", metavar="NAME", help="e.g. sore_wrist")
    flag.add_argument("--severity", required=True, choices=SEVERITIES)
    flag.set_defaults(run=run_flag)
    for each in (rule, flag):
        each.add_argument("--reads", action="append", default=[], metavar="FACT", help="may repeat")
    exercise = kinds.add_parser("exercise", help="a row at the end of rules/exercises.yaml")
    exercise.add_argument("name", metavar="NAME", help="e.g. row_ring")
    exercise.set_defaults(run=run_exercise)
    question = kinds.add_parser("question", help="an answer people give, and how it is asked")
    question.add_argument("name", metavar="FACT", help="the answer, e.g. client.shoe_size")
    question.add_argument("--section", required=True, help="the section it is asked in")
    question.add_argument("--type", default="boolean", choices=[each.value for each in FactType])
    question.add_argument(
        "--tier", choices=("A", "B", "C", "free"), help="what its silence costs, if about safety"
    )
    question.set_defaults(run=run_question)
    for each in kinds.choices.values():
        each.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")


def run_rule(args: argparse.Namespace) -> int:
    """Begin a rule."""
    kb = _book(args)
    checked_name("--stage", args.stage, kb.book.stages)
    checked_name("--sets", args.sets, kb.facts)
    checked_name("--calculate", args.calculate, CALCULATORS)
    _checked_reads(args, kb)
    _new_name(args, _RULE_ID, "rule id; write three capitals, a dash and more, e.g. VOL-140")
    if args.name in kb.rules:
        text = f"rule `{args.name}` stands already at {kb.places[args.name]}; choose another id"
        raise InputProblems([Problem("ID", "rule-exists", text)])
    wish = Wish(args.name, args.stage, args.title, args.sets, args.reads, args.calculate)
    title = "" if args.title == TITLE else args.title
    path = _folder(args) / args.stage / rule_file_name(args.name, title)
    return _begin(args, {path: rule_text(wish, kb, CALCULATORS)})


def run_flag(args: argparse.Namespace) -> int:
    """Begin a flag."""
    kb = _book(args)
    _checked_reads(args, kb)
    _new_name(args, _NAME, "name; write small letters, digits and _", kb.flags)
    text = flag_text(args.name, args.severity, args.reads, kb)
    return _begin(args, {_folder(args) / "flags" / f"{args.name}.yaml": text})


def run_exercise(args: argparse.Namespace) -> int:
    """Begin an exercise."""
    kb = _book(args)
    _new_name(args, _NAME, "name; write small letters, digits and _", kb.exercises.by_id)
    path = _folder(args) / "exercises.yaml"
    return _begin(args, {path: _with_row(path, exercise_row(args.name, kb))})


def run_question(args: argparse.Namespace) -> int:
    """Begin a question and the answer it asks for."""
    kb = _book(args)
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
    return _begin(args, {facts: _with_row(facts, fact), asked: _with_row(asked, question)})


def _book(args: argparse.Namespace) -> KnowledgeBase:
    """The book as it stands; what else is begun and not written yet does not matter here."""
    draft, problems = read_draft(args.rules, calculators=CALCULATORS)
    if draft is None or any(problem.code != "unwritten" for problem in problems):
        raise InputProblems(problems)
    return draft


def _checked_reads(args: argparse.Namespace, kb: KnowledgeBase) -> None:
    for name in args.reads:
        checked_name("--reads", name, kb.facts)


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
    return path.read_text(encoding="utf-8").rstrip("\n") + "\n" + row


def _begin(args: argparse.Namespace, texts: Mapping[Path, str]) -> int:
    """Write the files and tell what is to be written in them; 1 if anything else is wrong."""
    for path, text in texts.items():
        path.parent.mkdir(exist_ok=True)
        write_file(path, text)
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
