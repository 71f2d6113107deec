"""`whyplan rules`: read the rule book rule by rule, begin a rule, set a number within its range."""

import argparse
import datetime as dt
import re
from fnmatch import fnmatchcase

from assistant.calculate.registry import CALCULATORS
from assistant.cli.check import cases_of
from assistant.cli.common import knowledge, parse_day
from assistant.cli.files import write_file
from assistant.cli.options import RULES, file, option, switch
from assistant.knowledge import load_knowledge, rules_directory
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.walk import facts_read, facts_written
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.card import rule_card
from assistant.quality.house import Change, checked_change, with_change
from assistant.quality.sensitivity import Moved, Mover
from assistant.quality.skeleton import TITLE, Wish, skeleton

MOST_MOVES = 8
_CANNOT = "this cannot be written here ({}); choose another place"
_RULE_ID = re.compile(r"[A-Z]{3}-[A-Z0-9_-]+")


def run_list(args: argparse.Namespace) -> int:
    """Print one line a rule: id, stage, certainty, title; 1 if no rule is meant."""
    kb = knowledge(args.rules, args.house)
    _known("--stage", args.stage, kb.book.stages)
    _known("--grade", args.grade, [str(name) for name in kb.grades])
    for named, fact in (("--reads", args.reads), ("--sets", args.sets)):
        _known(named, fact, kb.facts)
    _known("--source", args.source, kb.sources)
    chosen = [
        rule
        for rule in kb.rules.values()
        if (args.pattern is None or fnmatchcase(rule.id, args.pattern))
        and args.stage in {None, rule.stage}
        and args.grade in {None, rule.grade.certainty.value}
        and (args.reads is None or args.reads in facts_read(rule))
        and (args.sets is None or args.sets in facts_written(rule))
        and (args.source is None or any(use.ref == args.source for use in rule.source))
    ]
    width = max((len(rule.id) for rule in chosen), default=0)
    for rule in chosen:
        print(
            f"{rule.id:<{width}}  {rule.stage:<10}  {rule.grade.certainty.value:<8}  {rule.title}"
        )
    print(f"{len(chosen)} of {len(kb.rules)} rules")
    return 0 if chosen else 1


def _known(option: str, name: str | None, known: object) -> None:
    names = list(known) if isinstance(known, (tuple, list)) else list(known or ())  # type: ignore[call-overload]
    if name is not None and name not in names:
        few = f"; known: {', '.join(names)}" if len(names) <= MOST_MOVES else ""
        text = f"`{name}` is not known{did_you_mean(name, names, few)}"
        raise InputProblems([Problem(option, "unknown-name", text)])


def run_show(args: argparse.Namespace) -> int:
    """Print the card of a rule."""
    kb = knowledge(args.rules, args.house)
    if args.rule not in kb.rules:
        text = f"`{args.rule}` is not a rule{did_you_mean(args.rule, kb.rules)}"
        raise InputProblems([Problem("ID", "unknown-rule", text)])
    print(rule_card(kb.rules[args.rule], kb), end="")
    return 0


def run_new(args: argparse.Namespace) -> int:
    """Write the first text of a rule; 1 if the book does not hold with it yet."""
    kb = knowledge(args.rules, None)
    _known("--stage", args.stage, kb.book.stages)
    for named, names in (("--sets", [args.sets]), ("--reads", args.reads)):
        for name in names:
            _known(named, name, kb.facts)
    if _RULE_ID.fullmatch(args.rule) is None:
        text = f"`{args.rule}` is no rule id; write three capitals, a dash and more, e.g. VOL-130"
        raise InputProblems([Problem("ID", "bad-value", text)])
    folder = rules_directory() if args.rules is None else args.rules
    path = folder / args.stage / f"{args.rule}.yaml"
    if args.rule in kb.rules or path.exists():
        where = kb.places.get(args.rule, path)
        text = f"rule `{args.rule}` stands already at {where}; choose another id"
        raise InputProblems([Problem("ID", "rule-exists", text)])
    text = skeleton(Wish(args.rule, args.stage, args.title, args.sets, args.reads), kb)
    path.parent.mkdir(exist_ok=True)
    write_file(path, text, _CANNOT)
    print(f"Rule begun in {path}")
    try:
        load_knowledge(args.rules, calculators=CALCULATORS, use_cache=False)
    except InputProblems as error:
        print("The book does not hold with it yet:")
        for problem in error.problems:
            print(f"  {problem}")
        return 1
    print("It loads. Now write its conditions, reason, source and tests; then: whyplan check")
    return 0


def run_set(args: argparse.Namespace) -> int:
    """Show what a changed number moves, then keep it; 1 if it would leave somebody without a plan."""
    house = args.house if args.house.exists() else None
    kb = load_knowledge(args.rules, overlay=house, calculators=CALCULATORS)
    cases = cases_of(args.cases, args.rules, kb)
    today = dt.datetime.now(tz=dt.UTC).astimezone().date()
    on = parse_day(args.day) if args.day else today
    change = checked_change(kb, _change(args, kb, on))
    told = "" if house is None else house.read_text(encoding="utf-8")
    text = with_change(told, str(args.house), change)
    _check_whole_book(args, text)
    moved = list(Mover(kb, cases, CALCULATORS).moved(change.parameter, change.now))
    _print_moves(change, moved, len(cases), kb)
    broken = [each for each in moved if each.moves[0].fact == "plan"]
    if broken:
        print("Nothing was written: somebody would be left without a plan.")
        return 1
    if args.only_try:
        print("Nothing was written.")
        return 0
    write_file(args.house, text, _CANNOT)
    print(f"Kept in {args.house}, with the reason. Use it with --house {args.house}")
    return 0


def _change(args: argparse.Namespace, kb: KnowledgeBase, on: dt.date) -> Change:
    parameter = kb.parameters.get(args.parameter)
    was = args.value
    if parameter is not None:
        dated = parameter.in_force(on)
        was = kb.overlay.get(args.parameter, (dated or parameter.values[0]).value)
    return Change(args.parameter, was, args.value, args.by, on.isoformat(), args.reason)


def _print_moves(change: Change, moved: list[Moved], count: int, kb: KnowledgeBase) -> None:
    title = kb.parameters[change.parameter].title
    print(f"{change.parameter} ({title}): {change.was:g} → {change.now:g}")
    print(f"{len(moved)} of {count} cases move")
    for each in moved:
        print(f"  {each.who}")
        for move in each.moves[:MOST_MOVES]:
            print(f"    {move}")
        if len(each.moves) > MOST_MOVES:
            print(f"    and {len(each.moves) - MOST_MOVES} more")


def _check_whole_book(args: argparse.Namespace, text: str) -> None:
    """Read the whole book with the new settings. Raises InputProblems where it does not hold."""
    trial = args.house.with_name(f".{args.house.name}.trial")
    write_file(trial, text, _CANNOT)
    try:
        load_knowledge(args.rules, overlay=trial, calculators=CALCULATORS, use_cache=False)
    finally:
        trial.unlink(missing_ok=True)


METAVAR, USUAL = "ACTION", "list"
_HOUSE = file("--house")
COMMANDS = {
    "list": (
        "one line a rule",
        run_list,
        (
            option("pattern", "e.g. 'SCR-*'", nargs="?", metavar="PATTERN"),
            option("--stage", "only rules of this stage"),
            option("--grade", "only rules of this certainty"),
            option("--reads", "only rules that read this fact", metavar="FACT"),
            option("--sets", "only rules that conclude this fact", metavar="FACT"),
            option("--source", "only rules that cite this source", metavar="ID"),
            RULES,
            _HOUSE,
        ),
    ),
    "show": ("a rule as a card", run_show, (option("rule", metavar="ID"), RULES, _HOUSE)),
    "new": (
        "begin a rule",
        run_new,
        (
            option("rule", "three capitals, a dash, more, e.g. VOL-130", metavar="ID"),
            option("--stage", "the stage it runs in, also its folder", required=True),
            option("--title", default=TITLE),
            option("--sets", "the fact it concludes", required=True, metavar="FACT"),
            option("--reads", "may repeat", action="append", default=[], metavar="FACT"),
            RULES,
        ),
    ),
    "set": (
        "set a number for this house, within its range",
        run_set,
        (
            option("parameter", metavar="PARAMETER"),
            option("value", metavar="VALUE", type=float),
            file("--house", "your settings", required=True),
            option("--by", "who sets it", required=True),
            option("--reason", "why", required=True),
            option("--day", "day of the change (default: today)", metavar="DATE"),
            file("--cases", "folder of case files to try", "DIR"),
            switch("--try", "show, write nothing", dest="only_try"),
            RULES,
        ),
    ),
}
