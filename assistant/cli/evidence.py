"""`whyplan evidence [CLIENT|CASE]`: what a plan, or the whole book, rests on, and what moves without it."""

import argparse
from collections.abc import Container, Iterator
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import steps_aside
from assistant.cli.files import keep_inputs, write_file, write_output
from assistant.cli.person import Asked, asked_about
from assistant.cli.progress import counted
from assistant.clients.book import knowledge, planner
from assistant.clients.cases import cases_of
from assistant.explain.audited import grounds
from assistant.explain.gap_words import label_of, value_words
from assistant.intake.sheet.decode import read_sheets
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Certainty, Mark
from assistant.model.values import FactKey, split_key
from assistant.plan.language import ENGLISH, read_language
from assistant.plan.phrases import Phrasebook, underlined, wrapped
from assistant.quality.evidence import TO_READ, Resting, said_of, to_read, unread_claims
from assistant.quality.moves import Shown
from assistant.quality.reviewing import COLUMNS, review_table, reviews_file, reviews_in
from assistant.quality.without import Gone, Silencer
from assistant.report.audit_parts import claim_parts
from assistant.report.page.whole import audit_html
from assistant.report.page.words import PageWords
from assistant.report.why_text import ground_words

_MOST_MOVES = 3


def run(args: argparse.Namespace) -> int:
    """Print what the evidence is like; 1 where there is no plan."""
    _check_options(args)
    if args.who is None:
        keep_inputs(args.out, *filter(None, (args.house,)))
        write_output(args.out, _book(args, knowledge(args.rules, args.house)).encode())
        return 0
    args.audience = "coach"
    one = asked_about(args)
    if steps_aside(one.person.case, one.person.planner.kb):
        return 1
    print("\n".join(_of_plan(one)))
    return 0


def _check_options(args: argparse.Namespace) -> None:
    """Refuse options that do not go together. Raises InputProblems."""
    problems = []
    if args.who is not None and (args.format != "text" or args.take_back or args.out):
        text = "--format, --take-back and --out are of the whole book; leave CLIENT-OR-CASE out"
        problems.append(Problem("CLIENT-OR-CASE", "bad-option", text))
    if args.take_back and args.rules is None:
        text = "name the folder of your rule book, in which the reviews are kept"
        problems.append(Problem("--rules", "missing-option", text))
    if args.most < 1:
        text = f"`{args.most}`; allowed: 1 and more"
        problems.append(Problem("--most", "bad-value", text))
    if problems:
        raise InputProblems(problems)


def _book(args: argparse.Namespace, kb: KnowledgeBase) -> str:
    """Return what was asked about the whole book."""
    if args.take_back is not None:
        return _taken_back(args.take_back, args.rules, kb)
    if args.format == "csv":
        return review_table(kb)
    if args.format == "html":
        english = read_language(kb, ENGLISH)
        words = PageWords(english, english, Phrasebook(kb))
        about = [said_of(kb), "To sign: fill in the table of `whyplan evidence --format csv`."]
        return audit_html(f"Claims of {kb.book.name}", about, claim_parts(kb), words)
    return "\n".join(_of_book(args, kb)) + "\n"


def _taken_back(filled: Path, rules: Path, kb: KnowledgeBase) -> str:
    """Keep what a reviewer said in the rule book, and say what was kept. Raises InputProblems."""
    sheet, *_ = read_sheets(filled, COLUMNS.__contains__)
    rows = ((row.line, row.cells) for row in sheet.rows)
    new = reviews_in(sheet.header.cells, rows, str(filled), kb)
    path = rules / "reviews.yaml"
    write_file(path, reviews_file(kb.reviews.reviews, new), "this cannot be written here ({})")
    signed = sum(1 for each in new if each.agrees)
    told = f"{len(new)} reviews kept in {path}: {signed} signed, {len(new) - signed} not agreed to."
    return "\n".join((told, *(f"Note: {each}" for each in sheet.notes), ""))


def _of_plan(one: Asked) -> Iterator[str]:
    """Yield the rules behind a plan: the weakest grade first, then by how much of the plan moves without each."""
    narrator, book = one.narrator, one.person.planner.compiled
    found = grounds(narrator, one.plan)
    yield f"What the plan for {one.plan.case_name} rests on, as of {one.plan.as_of}"
    read = sum(1 for each in found if each.mark is Mark.READ)
    yield f"{read} of {len(found)} rules that make a claim rest on a source that was read."
    silencer = Silencer(book, narrator.run, CALCULATORS)
    gone = {each.rule.id: silencer.without(each.rule.id) for each in counted(found, "rules")}
    moved = {each.rule.id: _lines(one, gone[each.rule.id].moved) for each in found}
    for grade in reversed(Certainty):
        graded = [each for each in found if each.rule.grade.certainty is grade]
        yield from underlined(f"Grade {grade.value}") if graded else ()
        for each in sorted(graded, key=lambda ground: -len(moved[ground.rule.id])):
            yield from wrapped(ground_words(each), "- ")
            if each.rule.settled_by:
                yield from wrapped(f"would be settled by {each.rule.settled_by}", "  ", "    ")
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
    made = [planner(args.rules, args.house, case.as_of, args.engine) for _, case in cases]
    claims = unread_claims(
        kb,
        (
            Silencer(each.compiled, each.run(case), CALCULATORS)
            for each, (_, case) in counted([*zip(made, cases, strict=True)], "cases")
        ),
    )
    moving = [each for each in claims if each.plans]
    weighed = f"{len(moving)} of them move a plan of {len(cases)}."
    yield from wrapped(f"{len(claims)} claims rest on nothing that was read; {weighed}", "", "")
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
