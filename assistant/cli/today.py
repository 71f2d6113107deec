"""`whyplan today`: who needs the coach first, and why."""

import argparse
import json
import sys
import textwrap

from assistant.cli.common import say_next
from assistant.cli.options import HOUSE, RECORD, RULES, option, switch
from assistant.cli.record import desk_of, today_of
from assistant.clients.book import knowledge
from assistant.clients.rounds import rounds_of
from assistant.plan.record import measure_settings
from assistant.records.attention import Reason, attention_book, reasons_for
from assistant.records.looks import looks_at_all
from assistant.records.store import Client

WIDTH = 80

OPTIONS = (
    switch("--all", "also clients without a reason"),
    option("--format", choices=("text", "json"), default="text"),
    RULES,
    HOUSE,
    *RECORD,
)


def run(args: argparse.Namespace) -> int:
    """Print the clients in order of need."""
    on = today_of(args)
    kb = knowledge(args.rules, args.house)
    book = attention_book(kb, on)
    with desk_of(args).opened() as records:
        settings = measure_settings(kb, on)
        looks = looks_at_all(records, on, settings, kb.logic_hash, rounds_of(kb, on))
    ranked = sorted(
        ((client, reasons_for(look, book)) for client, look in looks),
        key=lambda pair: (_urgency(pair[1]), pair[0].handle),
    )
    if args.format == "json":
        print(json.dumps(_document(on.isoformat(), ranked), ensure_ascii=False, indent=2))
    else:
        _print(on.isoformat(), ranked, book.document.quiet, everyone=args.all)
        if ranked and ranked[0][1]:
            say_next(["review", ranked[0][0].handle], db=args.db)
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
