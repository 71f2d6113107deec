"""`whyplan rules`: read the rule book rule by rule, begin a rule, set a number within its range."""

import argparse

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles.house import change_of, checked_change
from assistant.cli.common import checked_name, parse_day, today
from assistant.clients.book import knowledge
from assistant.clients.cases import cases_of
from assistant.clients.settings import existing, keep_settings, settings_with
from assistant.knowledge import load_knowledge
from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Change
from assistant.quality.card import rule_card
from assistant.quality.sensitivity import Moved, Mover
from assistant.quality.sought import Sought

MOST_MOVES = 8


def run_list(args: argparse.Namespace) -> int:
    """Print one line for each rule and number: id, stage, certainty, title; 1 if none is meant."""
    kb = knowledge(args.rules, args.house)
    checked_name("--stage", args.stage, kb.book.stages)
    checked_name("--grade", args.grade, [str(name) for name in kb.grades])
    checked_name("--reads", args.reads, kb.facts)
    checked_name("--sets", args.sets, kb.facts)
    checked_name("--source", args.source, kb.sources)

    sought = Sought(args.text, args.stage, args.grade, args.reads, args.sets, args.source)
    rules, numbers = sought.rules(kb), sought.numbers(kb)
    rows = [(rule, rule.stage) for rule in rules] + [(number, "number") for number in numbers]
    width = max((len(item.id) for item, _ in rows), default=0)
    for item, kind in rows:
        print(f"{item.id:<{width}}  {kind:<10}  {item.grade.certainty.value:<8}  {item.title}")
    print(f"{len(rules)} of {len(kb.rules)} rules, {len(numbers)} of {len(kb.parameters)} numbers")
    return 0 if rows else 1


def run_show(args: argparse.Namespace) -> int:
    """Print the card of a rule."""
    kb = knowledge(args.rules, args.house)
    if args.rule not in kb.rules:
        text = f"`{args.rule}` is not a rule{did_you_mean(args.rule, kb.rules)}"
        raise InputProblems([Problem("ID", "unknown-rule", text)])
    print(rule_card(kb.rules[args.rule], kb), end="")
    return 0


def run_set(args: argparse.Namespace) -> int:
    """Show what a changed number moves, then keep it; 1 if it would leave somebody without a plan."""
    kb = load_knowledge(args.rules, house=existing(args.house), calculators=CALCULATORS)
    cases = cases_of(args.cases, args.rules, kb)
    on = parse_day(args.day) if args.day else today()
    change = checked_change(
        kb, change_of(kb, args.parameter, args.value, on, by=args.by, reason=args.reason)
    )
    text = settings_with(args.rules, args.house, change)
    moved = list(Mover(kb, cases, CALCULATORS).moved(change.parameter, change.now))
    _print_moves(change, moved, len(cases), kb)
    broken = [each for each in moved if each.moves[0].fact == "plan"]
    if broken:
        print("Nothing was written: somebody would be left without a plan.")
        return 1
    if args.only_try:
        print("Nothing was written.")
        return 0
    keep_settings(args.house, text)
    print(f"Kept in {args.house}, with the reason. Use it with --house {args.house}")
    return 0


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
