"""The page of `whyplan plan CASE --format html`: its options, its language and its file."""

import argparse
import dataclasses

from assistant.clients.person import Person
from assistant.clients.worded import Reader, worded
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.programme import Programme
from assistant.plan.language import ENGLISH, read_language


def check_page_options(args: argparse.Namespace) -> None:
    """Refuse options that do not go together. Raises InputProblems."""
    problems = []
    if args.language != ENGLISH and (args.format != "html" or args.audience != "client"):
        text = "only the client's page is translated; add --format html --for client"
        problems.append(Problem("--language", "english-only", text))
    if args.format == "html" and len(args.who) > 1:
        text = "a page holds one plan; give one case at a time"
        problems.append(Problem("--format html", "one-case-only", text))
    if problems:
        raise InputProblems(problems)


def page_of(
    args: argparse.Namespace,
    person: Person,
    run: Run,
    programme: Programme | None,
    log_head: str = "",
) -> str:
    """Return the page for a person and their run, in the language asked for. Raises InputProblems.

    log_head: the plan's place in the decision log, if it is logged.
    """
    from assistant.report.page.whole import Recorded, page_html

    planner, history, found = person.planner, person.history, person.found
    record = None if history is None or found is None else Recorded(history, found)
    english = read_language(planner.kb, ENGLISH)
    language = read_language(planner.kb, args.language)
    reader = Reader(args.audience, language, imperial=args.imperial)
    narrator, plan = worded(person, run, programme, reader)
    plan = dataclasses.replace(plan, log_head=log_head)
    return page_html(plan, narrator, language, english, record)
