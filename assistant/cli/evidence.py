"""`whyplan evidence [CLIENT|CASE]`: what a plan, or the whole book, rests on, and what moves without it."""

import argparse
from collections.abc import Container, Iterator, Mapping

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import steps_aside
from assistant.cli.options import DB, RUN, count, file, option
from assistant.cli.person import Asked, asked_about
from assistant.clients.book import knowledge, planner
from assistant.clients.cases import cases_of
from assistant.engine import CompiledBook
from assistant.engine.answers import starting_facts
from assistant.explain.audited import grounds
from assistant.explain.gap_words import label_of, value_words
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Certainty, Mark
from assistant.model.values import FactKey, Value, split_key
from assistant.plan.phrases import underlined, wrapped
from assistant.quality.evidence import TO_READ, Resting, said_of, to_read, unread_claims
from assistant.quality.moves import Shown
from assistant.quality.runner import day_of, people_of
from assistant.quality.suite import Options
from assistant.quality.without import Gone, Silencer, Start, start_of
from assistant.report.why_text import ground_words

MOST_SHOWN, _MOST_MOVES = 15, 3

OPTIONS = (
    option("who", "client in the record, or a case file; without one the whole book", nargs="?",
           metavar="CLIENT-OR-CASE"),
    DB,
    file("--cases", "of the book: folder of case files to weigh by", "DIR"),
    count("--people", "of the book: how many invented people to weigh by, too", 0),
    count("--first", "number of the first one", 0),
    count("--most", "of the book: how many to show", MOST_SHOWN),
    *RUN,
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Print what the evidence is like; 1 where there is no plan."""
    if args.who is None:
        print("\n".join(_of_book(args, knowledge(args.rules, args.house))))
        return 0
    args.audience = "coach"
    one = asked_about(args)
    if steps_aside(one.person.case, one.person.planner.kb):
        return 1
    print("\n".join(_of_plan(one)))
    return 0


def _of_plan(one: Asked) -> Iterator[str]:
    """Yield the rules behind a plan: the weakest grade first, then by how much of the plan moves without each."""
    narrator, book = one.narrator, one.person.planner.compiled
    found = grounds(narrator, one.plan)
    yield f"What the plan for {one.plan.case_name} rests on, as of {one.plan.as_of}"
    read = sum(1 for each in found if each.mark is Mark.READ)
    yield f"{read} of {len(found)} rules that make a claim rest on a source that was read."
    silencer = Silencer(book, start_of(narrator.run, narrator.kb), CALCULATORS)
    gone = {each.rule.id: silencer.without(each.rule.id) for each in found}
    moved = {each.rule.id: _lines(one, gone[each.rule.id].moved) for each in found}
    for grade in reversed(Certainty):
        graded = [each for each in found if each.rule.grade.certainty is grade]
        yield from underlined(f"Grade {grade.value}") if graded else ()
        for each in sorted(graded, key=lambda ground: -len(moved[ground.rule.id])):
            yield from wrapped(ground_words(each), "- ")
            yield from wrapped(_without(one, moved[each.rule.id], gone[each.rule.id]), "  ", "    ")


def _lines(one: Asked, moved: Container[FactKey]) -> dict[str, list[FactKey]]:
    """Return the lines of the plan that would move, each with its facts that do."""
    found = {line: [key for key in facts if key in moved] for line, facts in one.lines.items()}
    return {line: keys for line, keys in found.items() if keys}


def _without(one: Asked, lines: dict[str, list[FactKey]], gone: Gone) -> str:
    if gone.fault:
        return f"without it there is no plan: {gone.fault}"
    if not lines:
        return "without it no line of this plan moves"
    keys = dict.fromkeys(key for each in lines.values() for key in each)
    told = [_words(one, key, *gone.moved[key]) for key in list(keys)[:_MOST_MOVES]]
    more = f"; and {len(keys) - _MOST_MOVES} more" if len(keys) > _MOST_MOVES else ""
    count = f"{len(lines)} line{'s' if len(lines) != 1 else ''}"
    return f"without it {count} would move: {'; '.join(told)}{more}"


def _words(one: Asked, key: FactKey, before: Shown | None, after: Shown | None) -> str:
    narrator, fact_id = one.narrator, split_key(key)[0]
    label = label_of(narrator, key)
    if narrator.hides(key):
        return f"{label}, left out here"
    if before is not None and after is not None and before[0] == after[0]:
        spans = [narrator.phrases.range(fact_id, *each[1:]) or "none" for each in (before, after)]
        return f"{label}, its range: {spans[0]} -> {spans[1]}"
    values = [
        "nothing" if each is None else value_words(narrator, fact_id, each[0])
        for each in (before, after)
    ]
    return f"{label}: {values[0]} -> {values[1]}"


def _of_book(args: argparse.Namespace, kb: KnowledgeBase) -> Iterator[str]:
    """Yield what of the book rests on nothing that was read, by how many plans it moves."""
    yield said_of(kb)
    cases = cases_of(args.cases, args.rules, kb)
    options = Options(cases, args.people, args.first)
    book = planner(args.rules, args.house, day_of(options), args.engine).compiled
    starts = people_of(book, options)
    people = [Silencer(book, _start(book, answers), CALCULATORS) for _, answers in starts]
    claims = unread_claims(kb, people)
    moving = [each for each in claims if each.plans]
    yield from wrapped(
        f"{len(claims)} claims rest on nothing that was read; {len(moving)} of them move a plan of "
        f"{len(people)}.", "", "",
    )  # fmt: skip
    by_hand = [each for each in moving if each.mark not in TO_READ]
    yield from underlined("Judgement and habit, by the plans that move without it")
    for each in by_hand[: args.most]:
        rule = kb.rules[each.id]
        grade = rule.grade.certainty.value
        yield from wrapped(
            f"{each.id}, {grade} ({_mark(each)}): {rule.title}; {_weight(each)}", "- "
        )
    yield from underlined("What to read next, by the plans that move with its claims")
    for each in to_read(kb, claims)[: args.most]:
        yield from wrapped(
            f"{each.id} ({_mark(each)}): {kb.sources[each.id].citation}; {_weight(each)}", "- "
        )


def _mark(one: Resting) -> str:
    return one.mark.value.replace("_", " ")


def _weight(one: Resting) -> str:
    return f"{one.plans} plan{'s' if one.plans != 1 else ''}, {one.conclusions} conclusions"


def _start(book: CompiledBook, answers: Mapping[FactKey, Value]) -> Start:
    return Start(starting_facts(book, answers, book.on).values)
