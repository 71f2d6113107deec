"""`whyplan checkin CLIENT`: the days since last time, asked on the screen or read from a file."""

import argparse
from pathlib import Path

from assistant.cli.checkin_file import import_file
from assistant.cli.record import add_record_options, add_rule_options
from assistant.model.errors import InputProblems, Problem


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("checkin", help="take in weights, sessions, lifts and the rest")
    parser.add_argument("name", metavar="CLIENT")
    parser.add_argument(
        "--from", dest="file", type=Path, metavar="FILE.csv", help="read a spreadsheet's file"
    )
    parser.add_argument("--imperial", action="store_true", help="plain numbers are lb and in")
    parser.add_argument(
        "--self", action="store_true", dest="alone", help="worded for a client alone"
    )
    parser.add_argument(
        "--dates", choices=("dmy", "mdy"), help="order of day and month in the file"
    )
    which = parser.add_mutually_exclusive_group()
    which.add_argument(
        "--keep", action="store_true", help="where the record says otherwise, it stays"
    )
    which.add_argument(
        "--replace", action="store_true", help="where the record says otherwise, the file counts"
    )
    parser.add_argument(
        "--sure", action="store_true", help="values that were asked about are right"
    )
    parser.add_argument(
        "--partly", action="store_true", help="take what is clear, leave the lines told about"
    )
    add_record_options(parser)
    add_rule_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Read a file, or ask; what is confirmed is kept at once."""
    if args.file is not None:
        return import_file(args)
    only_with_file = [name for name in ("keep", "replace", "sure", "partly") if getattr(args, name)]
    if only_with_file or args.dates:
        name = only_with_file[0] if only_with_file else "dates"
        text = "this goes with --from FILE.csv only"
        raise InputProblems([Problem(f"--{name}", "bad-option", text)])
    from assistant.cli.checkin_screen import ask  # noqa: PLC0415 - only a terminal needs it

    return ask(args)
