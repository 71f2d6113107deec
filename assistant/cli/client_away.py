"""`whyplan client away`: travel, a holiday or an illness, and what it makes of the week."""

import argparse
import dataclasses

from assistant.casefiles.away import apart, away_of
from assistant.cli.common import say_next
from assistant.cli.record import desk_of, today_of
from assistant.clients.book import knowledge
from assistant.clients.kept import Why
from assistant.model.away import AWAY_KINDS, Away
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.records.fold import answers_line


def run_away(args: argparse.Namespace) -> int:
    """Keep a time away or take one back, or list them. Raises InputProblems."""
    on = today_of(args)
    with desk_of(args).opened() as records:
        client = records.client(args.name)
        wishes = desk_of(args).standing(records, args.name).case.week
        if args.kind is None and not (args.withdraw or args.since):
            print("\n".join(_listed(wishes.away)))
            return 0
        if args.since is None:
            text = "say its first day; add --since DATE, such as 2026-03-02"
            raise InputProblems([Problem("--since", "missing-field", text)])
        if args.kind is None:
            text = f"say what it is; allowed: {', '.join(AWAY_KINDS)}"
            raise InputProblems([Problem("KIND", "missing-field", text)])
        away = _asked(args, () if args.withdraw else wishes.away)
        after = (*(each for each in wishes.away if each.since != away.since), away)
        if args.withdraw:
            after = after[:-1]
            if len(after) == len(wishes.away):
                text = f"no time away begins on {away.since.isoformat()}; `whyplan client away` lists them"
                raise InputProblems([Problem("--since", "unknown-day", text)])
        after = tuple(sorted(after, key=lambda each: each.since))
        line = answers_line({}, on, week=dataclasses.replace(wishes, away=after))
        records.append(client, [line])
        why = Why("away", args.by, f"{away.kind} from {away.since.isoformat()}")
        version = desk_of(args).add_version(records, args.name, why, agrees=False)
    print("\n".join(_listed(after)))
    print(f"Version {version.number} of the plan.")
    say_next(["week", client.handle], db=args.db)
    return 0


def _asked(args: argparse.Namespace, told: tuple[Away, ...]) -> Away:
    """Return the time away that was typed, which meets none told already. Raises InputProblems."""
    plain = {"kind": args.kind, "since": args.since, "until": args.until or args.since}
    if args.equipment:
        plain["equipment"] = [word.strip() for word in args.equipment.split(",")]
    try:
        return apart(away_of(plain, knowledge(args.rules, args.house)), told)
    except Refused as refusal:
        raise InputProblems([refusal.at("client away")]) from None


def _listed(away: tuple[Away, ...]) -> list[str]:
    rows = [
        f"{each.since.isoformat()} to {each.until.isoformat()}  {each.kind}"
        + (f", with {', '.join(each.equipment)}" if each.equipment else "")
        for each in away
    ]
    return rows or ["No time away is told."]
