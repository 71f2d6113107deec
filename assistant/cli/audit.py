"""`whyplan audit CLIENT|CASE`: all that a plan rests on, on one page: for whoever answers for it."""

import argparse
from collections.abc import Mapping
from functools import partial

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import steps_aside
from assistant.cli.files import keep_inputs, write_output
from assistant.cli.person import Asked, asked_about, case_file, command_again
from assistant.explain.audited import headlines
from assistant.explain.flip_text import headline_rows
from assistant.explain.picture import pictures
from assistant.model.values import FactKey, Value
from assistant.plan.language import ENGLISH, read_language
from assistant.plan.sentences import Narrator
from assistant.report.audit_parts import audit_parts, audit_text
from assistant.report.page.whole import audit_html
from assistant.report.page.words import PageWords


def run(args: argparse.Namespace) -> int:
    """Write the audit; 1 where there is no plan to audit."""
    keep_inputs(args.out, *filter(None, (case_file(args.who), args.house, args.record)))
    args.audience = "coach"
    one = asked_about(args)
    planner, narrator = one.person.planner, one.narrator
    if steps_aside(one.person.case, planner.kb):
        return 1

    def run_with(answers: Mapping[FactKey, Value]) -> Narrator:
        return one.beside(one.person.answering(answers))

    again, further = command_again(args, "what-if"), command_again(args, "flip")
    flips = (
        headline_rows(narrator, found, again, further)
        for found in headlines(planner.compiled, narrator, one.plan, CALCULATORS, run_with)
    )
    draw = partial(pictures, planner.compiled, narrator)
    parts = audit_parts(narrator, one.plan, draw, flips)
    title = f"Audit of the plan for {one.plan.case_name}"
    if args.format == "html":
        english = read_language(planner.kb, ENGLISH)
        words = PageWords(english, english, narrator.phrases)
        made = audit_html(title, _about(one), parts, words)
    else:
        made = audit_text(title, _about(one), parts)
    write_output(args.out, made.encode())
    return 0


def _about(one: Asked) -> list[str]:
    """Return which plan it is: its day, its book, the version in a client's record."""
    plan, version = one.plan, one.person.current
    told = [f"As of {plan.as_of}, without the week's sessions"]
    if version is not None:
        told.append(f"Version {version.number} of the plan, since {version.on.isoformat()}")
    return [*told, f"Rule book {plan.book_version}, logic {plan.logic_hash}, engine {plan.engine}"]
