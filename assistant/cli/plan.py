"""`whyplan plan CLIENT-OR-CASE...`: the plan, as text, JSON or a page, for the coach or the client."""

import argparse
import json
from dataclasses import replace
from typing import Any

from assistant.cli.calendar import check_calendar_options, write_calendar
from assistant.cli.common import say_next, steps_aside
from assistant.cli.files import keep_inputs, write_output
from assistant.cli.logging_plans import log_plan
from assistant.cli.page import check_page_options, page_of
from assistant.cli.person import case_file, person_of
from assistant.cli.progress import counted
from assistant.cli.week import block_rows
from assistant.cli.week_options import ShownWeek, week_for
from assistant.clients.person import Person
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.plan.week import for_reader
from assistant.report.plan_text import PlanText, WeekRows
from assistant.report.week_account import by_hand_text, gives_way_text
from assistant.report.week_text import missed_text, unfit_text


def week_rows(week: ShownWeek | None, person: Person, narrator: Narrator) -> WeekRows | None:
    """Return the week for the reader: what gives way, and for the coach changes by hand and the block."""
    if week is None or is_stopped(narrator.run):
        return None
    programme = for_reader(week.programme, narrator.audience)
    before = missed_text(*week.missed, narrator.phrases) if week.missed else []
    # What the week does not hold of what was asked is no secret of the coach.
    gives_way = gives_way_text(programme, narrator.phrases, narrator.audience)
    if narrator.audience == "client":
        return WeekRows(programme, before, gives_way)
    return WeekRows(
        programme,
        [*unfit_text(week.unfit, narrator.phrases), *before],
        [*by_hand_text(week.request.hand, person.planner.catalogue), *gives_way],
        block_rows(week, person, narrator.run),
    )


def own_plan(person: Person, *, imperial: bool) -> PlanText:
    """Return the plan of somebody who answered alone, with the week, as they read it."""
    narrator = person.narrator("client", imperial=imperial)
    now = person.week(narrator.run)
    week = None if now is None else ShownWeek(now.programme, now.request, unfit=now.unfit)
    plan = person.planner.plan(person.case, narrator, None if now is None else now.programme)
    return PlanText(plan, narrator, week_rows(week, person, narrator))


def run(args: argparse.Namespace) -> int:
    """Print the plans; 1 if one of them is withheld altogether."""
    check_page_options(args)
    keep_inputs(args.out, *(path for who in args.who if (path := case_file(who))))
    if args.format == "ics":
        check_calendar_options(args)
    documents: list[dict[str, Any]] = []
    shown: list[str] = []
    withheld, example = False, ""
    for who in counted(args.who, "plans"):
        person = person_of(args, who)
        case, planner = person.case, person.planner
        if args.out is not None and steps_aside(case, planner.kb, voice=args.audience):
            return 1
        narrator = person.narrator(args.audience, imperial=args.imperial)
        week = None if args.no_week else week_for(args, person, narrator.run)
        programme = None if week is None else week.programme
        plan = planner.plan(case, narrator, programme)
        # A log holds the week as it was solved: its loads follow from what is told, day by day.
        solved = None if week is None or plan.programme is None else week.solved or programme
        log_head = log_plan(args, person, solved)
        plan = replace(plan, log_head=log_head, place=person.place(narrator))
        level = narrator.run.facts.get("screen.level")
        withheld = withheld or (level is not None and level.value == "stop")
        if args.format == "ics":
            withheld = not write_calendar(args, plan, narrator) or withheld
        elif args.format == "html":
            shown.append(page_of(args, person, narrator.run, programme, log_head))
        elif args.format == "text":
            text = PlanText(plan, narrator, week_rows(week, person, narrator), args.full)
            example = text.example
            shown.append(text.text())
        else:
            from assistant.report.plan_json import plan_document, plan_json

            if len(args.who) == 1:
                shown.append(plan_json(plan, narrator))
            else:
                documents.append(plan_document(plan, narrator))
    if documents:
        shown.append(json.dumps(documents, ensure_ascii=False, indent=2) + "\n")
    if args.format != "ics":
        write_output(args.out, "\n\n".join(shown).encode())
    _say_more(args, person, example, is_withheld=withheld)
    return 1 if withheld else 0


def _say_more(args: argparse.Namespace, person: Person, example: str, *, is_withheld: bool) -> None:
    """Say how to read on, and to a coach what to do next, where one plan was printed to be read."""
    if args.format != "text" or args.out is not None or len(args.who) > 1:
        return
    who, reader = args.who[0], ["--for", "client"] if args.audience == "client" else []
    if not is_withheld:
        more = [["why", who, *example.split(), *reader]]
        more += [] if args.full else [["plan", who, *reader, "--full"]]
        say_next(*more, db=args.db, said="Why, and all of it" if len(more) > 1 else "Why")
    if args.audience == "client":
        return
    if case_file(who) is None:
        first = ["referral", who] if is_withheld else ["week", who, "--log-sheet"]
        say_next(first, ["checkin", who], db=args.db)
    elif is_withheld:
        say_next(["referral", who])
    else:
        say_next(["client", "add", person.case.name, "--case", who])
