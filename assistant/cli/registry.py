"""Every command by name, in the order the help lists them; only the one asked for is imported.

The solver and the database layer take seconds to import, and most commands need neither.
"""

import argparse
from collections.abc import Sequence
from importlib import import_module

COMMANDS = (
    "intake",
    "plan",
    "why",
    "why-not",
    "what-if",
    "flip",
    "picture",
    "week",
    "review",
    "phases",
    "referral",
    "log",
    "batch",
    "client",
    "checkin",
    "today",
    "check",
    "exchange",
    "rules",
    "schema",
)


def add_commands(
    subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]", arguments: Sequence[str]
) -> None:
    """Add the parser of the command that `arguments` begin with, or all of them if it is none."""
    asked = [name for name in COMMANDS if list(arguments[:1]) == [name]]
    for name in asked or COMMANDS:
        import_module(f"assistant.cli.{name.replace('-', '_')}").add_parser(subparsers)
