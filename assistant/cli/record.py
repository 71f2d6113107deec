"""What the commands on a client's record share: the desk their options name, and the day."""

import argparse
import datetime as dt
from typing import TYPE_CHECKING

from assistant.cli.common import parse_day, today

if TYPE_CHECKING:
    from assistant.clients.desk import Desk


def today_of(args: argparse.Namespace) -> dt.date:
    """Return the day that counts as today. Raises InputProblems."""
    return parse_day(args.as_of) if args.as_of else today()


def desk_of(args: argparse.Namespace) -> "Desk":
    """Return the record, the rule book and the day that the options of a command name."""
    from assistant.clients.desk import Desk

    named = (getattr(args, name, None) for name in ("rules", "house", "engine"))
    return Desk(today_of(args), args.db, *named)
