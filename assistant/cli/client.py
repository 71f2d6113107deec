"""`whyplan client …`: who is in the record, and what is held about them."""

import argparse
import json

from assistant.casefiles import read_case
from assistant.cli.common import say_next, steps_aside
from assistant.cli.files import free_path, write_file
from assistant.cli.record import desk_of, today_of
from assistant.clients.adding import added
from assistant.clients.answers import answered_anew, measured_anew
from assistant.clients.book import knowledge
from assistant.exchange.portable import case_json, portable
from assistant.intake.drafts import forget_draft
from assistant.model.version import Version
from assistant.records.chain import ENTRY, Line
from assistant.records.export import export
from assistant.records.projection import last_word
from assistant.records.verify import verify
from assistant.records.versions import last_version


def run_add(args: argparse.Namespace) -> int:
    """Add a client with answers and a first plan; 1 where nothing may be written today."""
    kb = knowledge(args.rules, args.house)
    case = read_case(args.case, kb)
    if steps_aside(case, kb, "to the record"):
        return 1
    desk = desk_of(args)
    with desk.opened() as records:
        client = added(desk, records, args.name, case, args.by)
        print(f"{client.name} is in the record, {records.place.shown}.")
        version = last_version(records.history(client))
    _say_version(version)
    say_next(["plan", client.handle], ["checkin", client.handle], db=args.db)
    return 0


def run_update(args: argparse.Namespace) -> int:
    """Append the answers of a case file, or what was measured lately, and a new version of the plan."""
    on = today_of(args)
    kb = knowledge(args.rules, args.house)
    desk = desk_of(args)
    changed: tuple[str, ...] = ()
    with desk.opened() as records:
        client = records.client(args.name)
        if args.case is not None:
            given = read_case(args.case, kb)
            if steps_aside(given, kb, "to the record"):
                return 1
            version = answered_anew(desk, records, client, given, args.by)
        else:
            version, changed = measured_anew(desk, records, client, args.by)
    print(f"The plan of {client.name} is made again as of {on.isoformat()}.")
    if changed:
        labels = ", ".join(kb.facts[fact].label for fact in changed)
        print(f"Measured lately, so it takes the place of the older answer: {labels}.")
    _say_version(version)
    say_next(["client", "plan", client.handle], db=args.db)
    return 0


def _say_version(version: Version | None) -> None:
    assert version is not None
    print(f"Version {version.number} of the plan. Screen: {version.digest['level']}.", end=" ")
    review = version.facts.get("review.next_date")
    print(f"The plan is looked at again on {review}." if review else "There is no plan to review.")


def run_list(args: argparse.Namespace) -> int:
    """Print the clients, one a line."""
    with desk_of(args).opened() as records:
        clients = records.clients()
    if not clients:
        print("The record is empty. Add somebody: whyplan client add NAME --case CASE")
    width = max((len(client.handle) for client in clients), default=0)
    for client in clients:
        print(f"{client.handle:<{width}}  since {client.added_on.isoformat()}  {client.name}")
    return 0


def run_show(args: argparse.Namespace) -> int:
    """Print a short account of a client's record, for the coach."""
    on = today_of(args)
    with desk_of(args).opened() as records:
        client = records.client(args.name)
        lines = records.history(client, until=on)
    print(f"{client.name} ({client.handle}), in the record since {client.added_on.isoformat()}")
    current = last_version(lines)
    if current is not None:
        plan = current.digest
        flags = ", ".join(f"{flag['id']} ({flag['severity']})" for flag in plan["flags"])
        print(f"Plan, version {current.number} of {plan['as_of']}: screen {plan['level']}; "
              f"flags: {flags or 'none'}")  # fmt: skip
        review = plan["facts"].get("review.next_date", "not set")
        print(f"  to be looked at on {review}")
        if plan["withheld"]:
            print(f"  held back by the screen: {', '.join(plan['withheld'])}")
    _show_measures(lines)
    print(f"{len(lines)} lines held; head {client.head[:12]}")
    print(f"All of it: whyplan client export {client.handle}")
    return 0


def _show_measures(lines: list[Line]) -> None:
    stands = last_word(lines)
    by_measure: dict[str, list[str]] = {}
    for spot in sorted(stands, key=lambda s: (s.measure, s.day)):
        by_measure.setdefault(spot.measure, []).append(spot.day.isoformat())
    said = sum(1 for line in lines if line.kind == ENTRY)
    print(f"Check-in lines: {said}, of which {len(stands)} stand")
    for measure, days in by_measure.items():
        print(f"  {measure:<16} {len(days):>5}  {days[0]} to {days[-1]}")


def run_export(args: argparse.Namespace) -> int:
    """Print or write everything held; a file that is there is never written over."""
    with desk_of(args).opened() as records:
        client = records.client(args.name)
        if args.case:
            case = desk_of(args).standing(records, args.name).case
            held = case_json(case, portable(case, with_name=True, whole=True))
        else:
            held = export(records, client)
    text = json.dumps(held, ensure_ascii=False, indent=2) + "\n"
    if args.out is None:
        print(text, end="")
        return 0
    write_file(free_path(args.out), text)
    what = "A case file of what stands for" if args.case else "Everything held about"
    print(f"{what} {client.name} is in {args.out}")
    return 0


def run_forget(args: argparse.Namespace) -> int:
    """Ask, then forget."""
    with desk_of(args).opened() as records:
        client = records.client(args.name)
        if not args.yes:
            print(f"Everything about {client.name} will be gone, also from backups.")
            try:
                typed = input(f"Type {client.handle} to go on: ")
            except EOFError:
                typed = ""
            if typed.strip() != client.handle:
                print("Nothing was changed.")
                return 1
        gone = desk_of(args).forget(records, client)
    draft = forget_draft(client.name)
    print(
        f"Forgotten: {gone.lines} lines, also in {gone.backups} backups"
        f"{' and in a draft of the intake' if draft else ''}. "
        f"The trail keeps {gone.subject[:12]} and a count."
    )
    print(
        "Files you wrote yourself (case files, exports, printed plans) are yours to delete. A "
        "decision log holds no name; deleting its key file makes its tags tell nothing."
    )
    return 0


def run_check(args: argparse.Namespace) -> int:
    """Check every hash; 1 if the history is not what was written."""
    with desk_of(args).opened() as records:
        checked = verify(records)
    for problem in checked.problems:
        print(problem)
    if checked.problems:
        return 1
    print(f"History intact: {checked.clients} clients, {checked.lines} lines.")
    return 0
