"""Every command by name, in the order the help lists them, and the parser that reads them.

What a command takes stands apart from what it does (`takes_*.py`), and nothing of the house is imported for
it: the solver, the database layer and the rule book take seconds, and help, completion and a mistyped word need none.
"""

import argparse
from collections.abc import Sequence

from assistant import __version__
from assistant.cli import takes_book, takes_plan, takes_reasons, takes_record
from assistant.cli.options import Command, Commands, add_options

_TAKES = takes_plan.COMMANDS | takes_reasons.COMMANDS | takes_record.COMMANDS | takes_book.COMMANDS
_ORDER = (
    "intake plan why audit evidence why-not what-if flip picture week edit exercise review phases referral log "
    "batch client checkin today serve team check exchange rules schema mcp where completion man"
)
EXIT_CODES = {
    0: "fine",
    1: "a finding (a plan withheld, engines that disagree, a check that fails)",
    2: "bad input, told in one line, and nothing done",
    130: "stopped by Ctrl-C",
}
ABOUT = "From answers to a training and food plan that can be defended line by line."
CAUTION = "Coaching information, not medical advice."
COMMANDS: dict[str, Command | Commands] = {name: _TAKES[name] for name in _ORDER.split()}


def build_parser(typed: Sequence[str] | None = None) -> argparse.ArgumentParser:
    """Return the parser. typed: fill in only the commands named there, which is all that reading them needs."""
    parser = argparse.ArgumentParser(
        prog="whyplan",
        description=ABOUT,
        epilog=f"Exit codes: {', '.join(f'{code} {what}' for code, what in EXIT_CODES.items())}. {CAUTION}",
    )
    parser.add_argument("--version", action="version", version=f"whyplan {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, command in COMMANDS.items():
        about = command.about if isinstance(command, Commands) else command[0]
        each = commands.add_parser(name, help=about)
        if typed is None or name in typed:
            _fill(each, command)
    return parser


def _fill(parser: argparse.ArgumentParser, command: Command | Commands) -> None:
    if not isinstance(command, Commands):
        _, run, options = command
        add_options(parser, options)
        parser.set_defaults(run=run)
        return
    add_options(parser, command.first)
    kinds = parser.add_subparsers(
        dest="action", required=command.usual is None, metavar=command.metavar
    )
    for name, (about, run, options) in command.kinds.items():
        kind = kinds.add_parser(name, help=about)
        add_options(kind, options)
        kind.set_defaults(run=run)
    if command.usual is not None:
        parser.set_defaults(**vars(kinds.choices[command.usual].parse_args([])))
