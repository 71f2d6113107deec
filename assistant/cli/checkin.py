"""`whyplan checkin CLIENT`: the days since last time, asked on the screen or read from a file."""

import argparse

from assistant.cli.checkin_file import import_file
from assistant.model.errors import InputProblems, Problem


def run(args: argparse.Namespace) -> int:
    """Read a file, or ask; what is confirmed is kept at once."""
    if args.file is not None:
        return import_file(args)
    only_with_file = [name for name in ("keep", "replace", "sure", "partly") if getattr(args, name)]
    if only_with_file or args.dates:
        name = only_with_file[0] if only_with_file else "dates"
        text = "this goes with --from FILE only"
        raise InputProblems([Problem(f"--{name}", "bad-option", text)])
    from assistant.cli.checkin_screen import ask

    return ask(args)
