"""`whyplan log`: list, show, verify and replay past decisions, and change one with a reason."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from assistant.audit.chain import parse_head
from assistant.audit.client_tag import client_tag
from assistant.audit.entry import DecisionEntry, Entry, OverrideEntry, shaped
from assistant.audit.override import Wish, often_overridden, override_body
from assistant.audit.store import append, read_log, sound_log
from assistant.audit.words import (
    decision_rows,
    list_rows,
    override_row,
    report_rows,
)
from assistant.cli.common import ENGINES, knowledge
from assistant.cli.log_replay import replay_log
from assistant.cli.logging_plans import log_path, now
from assistant.model.errors import InputProblems, Problem
from assistant.plan.visibility import is_hidden

_Commands = argparse._SubParsersAction  # noqa: SLF001 - argparse has no public name for it


def add_parser(commands: "_Commands[argparse.ArgumentParser]") -> None:
    """Register the command and its own commands."""
    parser = commands.add_parser("log", help="the decision log: past plans, checked and made again")
    kinds = parser.add_subparsers(dest="log_command", required=True, metavar="COMMAND")
    listing = _command(kinds, "list", "one line for each past decision")
    listing.add_argument("--name", metavar="NAME", help="only this client's decisions")
    listing.set_defaults(run=run_list)
    show = _command(kinds, "show", "one past decision in full")
    show.add_argument("number", type=int, metavar="N", help="its number in the log")
    show.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    show.set_defaults(run=run_show)
    verify = _command(kinds, "verify", "look for anything changed after it was written")
    verify.add_argument("--head", metavar="SEQ:HASH", help="as printed under a plan")
    verify.set_defaults(run=run_verify)
    replay = _command(kinds, "replay", "make every past decision again and tell what moves")
    replay.add_argument("--rules", type=Path, metavar="DIR", help="with another rule book")
    replay.add_argument(
        "--house", type=Path, metavar="FILE", help="with other settings of your own"
    )
    replay.add_argument(
        "--engine", choices=ENGINES, help="rule engine (default: the one installed)"
    )
    replay.add_argument("--only", type=int, metavar="N", help="one decision, with all its changes")
    replay.add_argument(
        "--week", action="store_true", help="solve the sessions again too (seconds each)"
    )
    replay.set_defaults(run=replay_log)
    override = _command(kinds, "override", "write down a change of one line, with its reason")
    override.add_argument("number", type=int, metavar="N", help="number of the decision")
    override.add_argument("--line", required=True, help="line of the plan, e.g. food.protein")
    override.add_argument("--to", required=True, metavar="VALUE", help="the new value, in SI units")
    override.add_argument("--by", required=True, metavar="WHO", help="who decides, by role")
    override.add_argument("--reason", required=True, help="why")
    override.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    override.set_defaults(run=run_override)
    report = _command(kinds, "report", "the rules most often overridden")
    report.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    report.set_defaults(run=run_report)


def _command(
    kinds: "_Commands[argparse.ArgumentParser]", name: str, about: str
) -> argparse.ArgumentParser:
    parser = kinds.add_parser(name, help=about)
    parser.add_argument(
        "--log", type=Path, metavar="FILE", help="which log (default: in your own data folder)"
    )
    return parser


def run_list(args: argparse.Namespace) -> int:
    """Print one line for each entry. Raises InputProblems."""
    path = log_path(args.log)
    entries: Sequence[Entry] = _entries(path)
    if args.name is not None:
        tag = client_tag(args.name, path, make_key=False)
        mine = {e.sequence for e in entries if isinstance(e, DecisionEntry) and e.client == tag}
        entries = [
            e
            for e in entries
            if (e.decision if isinstance(e, OverrideEntry) else e.sequence) in mine
        ]
    print("\n".join(list_rows(entries)))
    return 0


def run_show(args: argparse.Namespace) -> int:
    """Print one decision and its changes. Raises InputProblems."""
    path = log_path(args.log)
    entries = _entries(path)
    entry = _decision(entries, args.number, path)
    changes = [e for e in entries if isinstance(e, OverrideEntry) and e.decision == entry.sequence]
    kb, withheld = knowledge(args.rules, None), entry.outcome.withheld
    rows = decision_rows(entry, changes, lambda key: is_hidden(kb, key, withheld, "coach"))
    print("\n".join(rows))
    return 0


def run_verify(args: argparse.Namespace) -> int:
    """Check the chain; 1 if anything is wrong. Raises InputProblems if there is no log."""
    path = log_path(args.log)
    head = parse_head(args.head) if args.head else None
    chain = read_log(path, head)
    for problem in chain.problems:
        print(problem)
    if chain.problems:
        return 1
    if chain.head is None:
        print("The log is empty.")
        return 0
    count = f"{len(chain.entries)} entries" if len(chain.entries) != 1 else "1 entry"
    print(f"The chain of {count} is whole. Head {chain.head}")
    if head is None:
        print(
            "A tail cut off, or a log written anew from end to end, shows only against a head that was "
            "printed:\nwhyplan log verify --head SEQ:HASH"
        )
    return 0


def run_override(args: argparse.Namespace) -> int:
    """Write a change down. Raises InputProblems where it is not allowed."""
    path = log_path(args.log)
    entry = _decision(_entries(path), args.number, path)
    wish = Wish(args.line, args.to, args.by, args.reason)
    body = override_body(entry, wish, knowledge(args.rules, None), now())
    done = append(path, lambda: body)
    print("\n".join([*done.notes, override_row(body), f"Decision log {done.link}"]))
    return 0


def run_report(args: argparse.Namespace) -> int:
    """Print the rules most often overridden. Raises InputProblems."""
    kb = knowledge(args.rules, None)
    titles = {rule.id: rule.title for rule in kb.rules.values()}
    print("\n".join(report_rows(often_overridden(_entries(log_path(args.log))), titles)))
    return 0


def _entries(path: Path) -> tuple[Entry, ...]:
    return shaped(sound_log(path).entries, str(path))


def _decision(entries: Sequence[Entry], number: int, path: Path) -> DecisionEntry:
    for entry in entries:
        if entry.sequence == number and isinstance(entry, DecisionEntry):
            return entry
    text = f"entry {number} is no decision of this log; `whyplan log list` shows them"
    raise InputProblems([Problem(str(path), "unknown-entry", text)])
