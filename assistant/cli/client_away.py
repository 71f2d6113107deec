"""`whyplan client away`: travel, a holiday or an illness, and what it makes of the week."""

import argparse

from assistant.cli.common import parse_day, say_next
from assistant.cli.record import desk_of
from assistant.clients.time_away import kept_away, taken_back
from assistant.model.away import AWAY_KINDS, Away
from assistant.model.errors import InputProblems, Problem


def run_away(args: argparse.Namespace) -> int:
    """Keep a time away or take one back, or list them. Raises InputProblems."""
    desk = desk_of(args)
    with desk.opened() as records:
        client = records.client(args.name)
        if args.kind is None and not (args.withdraw or args.since):
            print("\n".join(_listed(desk.standing(records, args.name).case.week.away)))
            return 0
        if args.since is None:
            text = "say its first day; add --since DATE, such as 2026-03-02"
            raise InputProblems([Problem("--since", "missing-field", text)])
        if args.kind is None:
            text = f"say what it is; allowed: {', '.join(AWAY_KINDS)}"
            raise InputProblems([Problem("KIND", "missing-field", text)])
        if args.withdraw:
            version = taken_back(desk, records, args.name, parse_day(args.since), args.by)
        else:
            kit = [word.strip() for word in (args.equipment or "").split(",") if word.strip()]
            version = kept_away(
                desk,
                records,
                args.name,
                kind=args.kind,
                since=args.since,
                until=args.until or "",
                equipment=kit,
                by=args.by,
            )
        away = desk.standing(records, args.name).case.week.away
    print("\n".join(_listed(away)))
    print(f"Version {version.number} of the plan.")
    say_next(["week", client.handle], db=args.db)
    return 0


def _listed(away: tuple[Away, ...]) -> list[str]:
    rows = [
        f"{each.since.isoformat()} to {each.until.isoformat()}  {each.kind}"
        + (f", with {', '.join(each.equipment)}" if each.equipment else "")
        for each in away
    ]
    return rows or ["No time away is told."]
