"""`whyplan plan CASE --format ics`: the plan's days as a calendar file."""

import argparse
import sys

from assistant.cli.files import read_input, write_output
from assistant.clients.when import time_of, zone_of
from assistant.model.errors import InputProblems, Problem
from assistant.model.plan import Plan
from assistant.plan.sentences import Narrator


def check_calendar_options(args: argparse.Namespace) -> None:
    """Refuse what does not go with a calendar. Raises InputProblems."""
    problems = []
    if len(args.who) > 1:
        text = "a calendar is made for one client; name one case"
        problems.append(Problem("--format ics", "too-many-cases", text))
    if args.missed is not None:
        text = "changes one week only, a calendar holds many; leave it out"
        problems.append(Problem("--missed", "not-for-calendars", text))
    if args.no_week and args.replaces is not None:
        text = "would call every session off with --replaces; leave one of the two out"
        problems.append(Problem("--no-week", "not-with-replaces", text))
    if problems:
        raise InputProblems(problems)


def write_calendar(args: argparse.Namespace, plan: Plan, narrator: Narrator) -> bool:
    """Write the calendar of a plan; False where the plan has nothing for a calendar."""
    from assistant.report.calendar import Diary, calendar_entries
    from assistant.report.ics import Heading, events, ics_bytes
    from assistant.report.ics_update import updated

    diary = Diary(time_of(args.time), args.weeks)
    heading = Heading(
        narrator.kb.calendar.name.to(narrator.audience).replace("{client}", plan.case_name),
        args.client_id or plan.case_name,
        narrator.on,
        zone_of(args.timezone),
    )
    made = events(calendar_entries(plan, narrator, diary), heading)
    if args.replaces is not None:
        made, called_off = updated(made, read_input(args.replaces), str(args.replaces), heading)
        print(f"{called_off} earlier entries called off", file=sys.stderr)
    if not made:
        print("No calendar: the plan is withheld; `whyplan plan` says why.", file=sys.stderr)
        return False
    write_output(args.out, ics_bytes(made, heading))
    return True
