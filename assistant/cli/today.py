"""`whyplan today`: who needs the coach first, and why."""

import argparse
import json
import textwrap

from assistant.cli.common import say_next
from assistant.cli.record import desk_of
from assistant.clients.attention import Need, in_order_of_need

WIDTH = 80


def run(args: argparse.Namespace) -> int:
    """Print the clients in order of need."""
    desk = desk_of(args)
    with desk.opened() as records:
        ranked = in_order_of_need(desk, records)
    on = desk.on.isoformat()
    if args.format == "json":
        print(json.dumps(_document(on, ranked), ensure_ascii=False, indent=2))
    else:
        _print(on, ranked, desk.kb.attention.quiet, everyone=args.all)
        if ranked and ranked[0].reasons:
            say_next(["review", ranked[0].client.handle], db=args.db)
    return 0


def _document(on: str, ranked: list[Need]) -> dict[str, object]:
    return {
        "as_of": on,
        "clients": [
            {
                "client": need.client.handle,
                "name": need.client.name,
                "reasons": [{"finds": each.finds, "text": each.text} for each in need.reasons],
            }
            for need in ranked
        ],
    }


def _print(on: str, ranked: list[Need], quiet: str, *, everyone: bool) -> None:
    needing = [need for need in ranked if need.reasons]
    print(f"{on}: {len(needing)} of {len(ranked)} clients need you, the first of them most.")
    if not needing:
        print(quiet)
    for number, need in enumerate(needing, start=1):
        print(f"\n{number:>3}  {need.client.name} ({need.client.handle})")
        for reason in need.reasons:
            print(textwrap.fill(reason.text, WIDTH, initial_indent="     - ",
                                subsequent_indent="       ", break_on_hyphens=False))  # fmt: skip
    if everyone and len(needing) < len(ranked):
        names = ", ".join(need.client.handle for need in ranked if not need.reasons)
        print(textwrap.fill(f"\nNo reason today: {names}", WIDTH, subsequent_indent="  "))
