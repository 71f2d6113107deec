"""`whyplan rules try FILE`: a rule file beside the book, in silence, over cases, record and log."""

import argparse
import datetime as dt
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import cast

from assistant.audit.entry import DecisionEntry, shaped
from assistant.audit.replay import case_of, measured_of
from assistant.audit.store import sound_log
from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import today
from assistant.cli.progress import counted, doing
from assistant.clients.book import knowledge, planner
from assistant.clients.cases import cases_of
from assistant.clients.compare import Moves
from assistant.clients.desk import Desk
from assistant.clients.person import Person
from assistant.clients.tried import Tried, tried
from assistant.knowledge.draft import Draft
from assistant.knowledge.drafting import knowledge_of, read_draft
from assistant.knowledge.walk import parameters_read
from assistant.model.case import Case
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner, prepare
from assistant.plan.phrases import underlined, wrapped
from assistant.quality.finding import Finding
from assistant.quality.laws import check_laws
from assistant.quality.rule_tests import check_tests
from assistant.quality.suite import CONFLICT, Options, Subject
from assistant.quality.versus import changed_numbers, changed_rules
from assistant.report.what_if_text import line_rows, summary_rows

_MOST_PEOPLE, _MOST_LINES = 8, 6
_LAWS_TO_START = 1.2


def run(args: argparse.Namespace) -> int:
    """Print what would move and what would break; 1 if anything breaks. Raises InputProblems."""
    book = knowledge(args.rules, args.house)
    house, over = (args.file, None) if args.file.is_dir() else (args.house, args.file)
    draft, problems = read_draft(args.rules, house, calculators=CALCULATORS, over=over)
    if draft is None or any(each.code != CONFLICT for each in problems):
        raise InputProblems(problems)
    other = knowledge_of(draft)
    rules, numbers = changed_rules(book, other), changed_numbers(book, other)
    differing = ", ".join([*rules, *numbers]) or "nothing"
    print("\n".join(wrapped(f"Beside the book: {differing} differs.", rest="")))
    cases = cases_of(args.cases, args.rules, other)
    touched = [
        rule.id
        for rule in other.rules.values()
        if rule.id in rules or not parameters_read(rule).isdisjoint(numbers)
    ]
    # What the book breaks by itself is no news.
    with doing("trying the laws", _LAWS_TO_START):
        known = {each.what for each in _broken(book, [], cases)}
        findings = [each for each in _broken(other, touched, cases) if each.what not in known]

    @lru_cache
    def other_planner(on: dt.date) -> Planner:
        return prepare(other, on)

    broken = False
    for group, people in _groups(args, book):
        done = tried(counted(people, group), lambda now: other_planner(now.on))
        print("\n".join(_rows(group, done)))
        broken |= bool(done.broken) or any(each.is_broken for each in done.moved)
    print("\n".join(underlined("Laws and the rules' own tests")))
    rows = [row for each in findings for row in wrapped(str(each), "- ", "  ")]
    print("\n".join(rows or ["All hold."]))
    print("Nothing was written.")
    return 1 if broken or findings else 0


def _broken(kb: KnowledgeBase, rules: list[str], cases: list[tuple[str, Case]]) -> list[Finding]:
    """What the laws and the rules' own tests find in a book."""
    # Laws and tests ask only for places, which a loaded book knows as well as a draft.
    subject, options = Subject(cast("Draft", kb), (), CALCULATORS), Options(cases, rules=rules)
    checks = [check_laws, *([check_tests] if rules else [])]
    return [each for check in checks for each in check(subject, options).findings]


def _groups(
    args: argparse.Namespace, kb: KnowledgeBase
) -> Iterator[tuple[str, list[tuple[str, Person | InputProblems]]]]:
    """Yield the people of the cases, of the record and of the log, who stand by the book."""

    def made(on: dt.date) -> Planner:
        return planner(args.rules, args.house, on, None)

    cases = cases_of(args.cases, args.rules, kb)
    yield "cases", [(who, Person(case, made(case.as_of))) for who, case in cases]
    if args.db is not None:
        desk = Desk(today(), args.db or None, args.rules, args.house)
        with desk.opened() as records:
            yield "clients", [(each.handle, now) for each, now in desk.everybody(records)]
    if args.log is not None:
        entries = shaped(sound_log(args.log).entries, str(args.log))
        yield "logged plans", [
            (f"decision {each.sequence} of {each.as_of}", _as_logged(each, kb, made))
            for each in entries if isinstance(each, DecisionEntry)
        ]  # fmt: skip


def _as_logged(
    entry: DecisionEntry, kb: KnowledgeBase, made: Callable[[dt.date], Planner]
) -> Person | InputProblems:
    try:
        case = case_of(entry, kb)
        return Person(case, made(case.as_of), was_measured=measured_of(entry, kb))
    except InputProblems as problems:
        return problems


def _rows(group: str, done: Tried) -> list[str]:
    told = [each for each in done.moved if each.found is not None]
    unknown = len(done.moved) - len(told)
    rows = underlined(f"{len(told)} of {done.count} {group} would move")
    for each in told[:_MOST_PEOPLE]:
        rows += [each.who, *(f"  {row}" for row in _moved(each))]
    if len(told) > _MOST_PEOPLE:
        rows += wrapped(f"and {', '.join(each.who for each in told[_MOST_PEOPLE:])}", rest="")
    if unknown:
        faults = [f"{each.who}: {each.fault}" for each in done.moved if each.found is None]
        rows.append(f"Of {unknown} it cannot be told:")
        rows += [row for fault in faults[:_MOST_PEOPLE] for row in wrapped(fault, "- ", "  ")]
    if done.broken:
        rows.append("No longer as the case expects:")
        rows += [
            row for who, words in done.broken for row in wrapped(f"{who}: {words}", "- ", "  ")
        ]
    return rows


def _moved(each: Moves) -> list[str]:
    found = each.found
    assert found is not None  # the caller saw to it
    told: set[tuple[str, str]] = set()
    lines = [line for section in found.sections for line in section.lines]
    rows = [row for line in lines[:_MOST_LINES] for row in line_rows(line, told)]
    if len(lines) > _MOST_LINES:
        rows.append(f"and {len(lines) - _MOST_LINES} lines more")
    return [*rows, *(["The screen stops the plan."] if each.stopped else []), *summary_rows(found)]
