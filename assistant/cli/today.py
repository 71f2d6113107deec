"""`whyplan today`: who needs the coach first, and why."""

import argparse
import json
import sys
import textwrap
from pathlib import Path

from assistant.cli.common import knowledge
from assistant.cli.record import add_record_options, asks_of, opened, today_of
from assistant.intake.checkin.book import checkin_book
from assistant.plan.record import measure_settings
from assistant.records.attention import Reason, reasons_for
from assistant.records.attention_book import attention_book
from assistant.records.looks import looks_at_all
from assistant.records.store import Client

WIDTH = 80


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("today", help="who needs the coach first, and why")
    parser.add_argument("--all", action="store_true", help="also clients without a reason")
    parser.add_argument("--format", choices=("text", "json"), default="text")
    parser.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    parser.add_argument(
        "--house", type=Path, metavar="FILE", help="your own settings within the allowed ranges"
    )
    add_record_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the clients in order of need."""
    on = today_of(args)
    kb = knowledge(args.rules, args.house)
    book, checkin = attention_book(kb, on), checkin_book(kb, on)
    with opened(args) as records:
        looks = looks_at_all(
            records,
            on,
            measure_settings(kb, on),
            kb.logic_hash,
            askable=checkin.askable(kb),
            all_again_weeks=checkin.numbers["all_again_weeks"],
            open_again_weeks=checkin.numbers["open_again_weeks"],
            asks=asks_of(kb, on),
        )
    ranked = sorted(
        ((client, reasons_for(look, book)) for client, look in looks),
        key=lambda pair: (_urgency(pair[1]), pair[0].handle),
    )
    if args.format == "json":
        print(json.dumps(_document(on.isoformat(), ranked), ensure_ascii=False, indent=2))
    else:
        _print(on.isoformat(), ranked, book.document.quiet, everyone=args.all)
    return 0


def _urgency(reasons: list[Reason]) -> tuple[int, ...]:
    """Order by the first reason, then by the next ones; nobody's reason comes last."""
    return tuple(reason.order for reason in reasons) or (sys.maxsize,)


def _document(on: str, ranked: list[tuple[Client, list[Reason]]]) -> dict[str, object]:
    return {
        "as_of": on,
        "clients": [
            {
                "client": client.handle,
                "name": client.name,
                "reasons": [{"finds": each.finds, "text": each.text} for each in reasons],
            }
            for client, reasons in ranked
        ],
    }


def _print(
    on: str, ranked: list[tuple[Client, list[Reason]]], quiet: str, *, everyone: bool
) -> None:
    needing = [pair for pair in ranked if pair[1]]
    print(f"{on}: {len(needing)} of {len(ranked)} clients need you, the first of them most.")
    if not needing:
        print(quiet)
    for number, (client, reasons) in enumerate(needing, start=1):
        print(f"\n{number:>3}  {client.name} ({client.handle})")
        for reason in reasons:
            print(textwrap.fill(reason.text, WIDTH, initial_indent="     - ",
                                subsequent_indent="       ", break_on_hyphens=False))  # fmt: skip
    if everyone and len(needing) < len(ranked):
        names = ", ".join(client.handle for client, reasons in ranked if not reasons)
        print(textwrap.fill(f"\nNo reason today: {names}", WIDTH, subsequent_indent="  "))
