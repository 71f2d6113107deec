"""`whyplan checkin CLIENT`: the days since last time, asked on the screen or read from a file."""

import argparse

from assistant.cli.checkin_file import import_file
from assistant.cli.options import ALONE, CLIENT, DATES, EITHER, ON_RECORD, file, switch
from assistant.model.errors import InputProblems, Problem

OPTIONS = (
    CLIENT,
    file("--from", "read a table: CSV, a workbook, YAML or JSON", "FILE", dest="file"),
    switch("--imperial", "plain numbers are lb and in"),
    ALONE,
    DATES,
    switch("--keep", "where the record says otherwise, it stays", EITHER),
    switch("--replace", "where the record says otherwise, the file counts", EITHER),
    switch("--sure", "values that were asked about are right"),
    switch("--partly", "take what is clear, leave the lines told about"),
    *ON_RECORD,
)


def run(args: argparse.Namespace) -> int:
    """Read a file, or ask; what is confirmed is kept at once."""
    if args.file is not None:
        return import_file(args)
    only_with_file = [name for name in ("keep", "replace", "sure", "partly") if getattr(args, name)]
    if only_with_file or args.dates:
        name = only_with_file[0] if only_with_file else "dates"
        text = "this goes with --from FILE only"
        raise InputProblems([Problem(f"--{name}", "bad-option", text)])
    from assistant.cli.checkin_screen import ask  # noqa: PLC0415 - only a terminal needs it

    return ask(args)
