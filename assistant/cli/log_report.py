"""`whyplan log report`: over many clients, which rules fire, what is changed by hand and why, who was seen."""

import argparse
import csv
import datetime as dt
import io
from collections.abc import Iterable

from assistant.audit.client_tag import client_tag, key_path
from assistant.audit.tally import count_log
from assistant.cli.common import today
from assistant.cli.files import write_output
from assistant.cli.logging_plans import log_path
from assistant.clients.book import knowledge
from assistant.exchange.answers_csv import guarded
from assistant.model.knowledge import KnowledgeBase
from assistant.model.tally import Tally
from assistant.report.tally import Table, tables, tally_html, tally_text


def run(args: argparse.Namespace) -> int:
    """Print the counts. Raises InputProblems."""
    kb, on = knowledge(args.rules, args.house), today()
    path, tally = log_path(args.log), Tally()
    if args.db is None or args.log is not None or path.exists():
        count_log(tally, path)
    if args.db is not None:
        _count_record(args, tally, kb, on)
    told = tables(tally, kb, on)
    if args.format == "csv":
        write_output(args.out, _csv(told).encode())
    elif args.format == "html":
        said = f"{tally.plans.total()} logged plans, {len(tally.clients)} clients, up to {on.isoformat()}; book {kb.book.version}"
        write_output(args.out, tally_html(told, said).encode())
    else:
        write_output(args.out, (tally_text(told) + "\n").encode())
    return 0


def _count_record(args: argparse.Namespace, tally: Tally, kb: KnowledgeBase, on: dt.date) -> None:
    # Only who asks for a record pays for loading its room.
    from assistant.clients.tally import count_record
    from assistant.records.store import open_records

    path = log_path(args.log)
    has_key = key_path(path).exists()

    def who_is(name: str) -> str:
        # Under one tag a change that stands in both counts once.
        return client_tag(name, path, make_key=False) if has_key else name

    with open_records(args.db or None, on) as records:
        count_record(tally, records, kb, who_is)


def _csv(told: Iterable[Table]) -> str:
    """Every row of every table (RFC 4180)."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(("table", "item", "words", "count", "of"))
    for table in told:
        for row in table.rows:
            of = "" if row.of is None else row.of
            writer.writerow((table.id, guarded(row.item), guarded(row.words), row.count, of))
    return out.getvalue()
