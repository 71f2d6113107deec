"""What several commands share: options, the knowledge base, one planner a day."""

import argparse
import datetime as dt
from functools import lru_cache
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import EngineChoice, Planner, prepare

ENGINES = ("durable", "clips", "both")


def add_common_options(parser: argparse.ArgumentParser) -> None:
    """Add the options every command that runs the rules takes."""
    parser.add_argument(
        "--engine", choices=ENGINES, help="rule engine (default: the one installed)"
    )
    parser.add_argument("--as-of", metavar="DATE", help="day to plan for, e.g. 2026-01-12")
    parser.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    parser.add_argument(
        "--house", type=Path, metavar="FILE", help="your own settings within the allowed ranges"
    )
    parser.add_argument("--imperial", action="store_true", help="show pounds and inches")


def add_audience_option(parser: argparse.ArgumentParser) -> None:
    """Add `--for coach|client`."""
    parser.add_argument(
        "--for", dest="audience", choices=("coach", "client"), default="coach", help="who reads it"
    )


@lru_cache(maxsize=4)
def knowledge(rules: Path | None, house: Path | None) -> KnowledgeBase:
    """Return the knowledge base, loaded once a process. Raises InputProblems."""
    return load_knowledge(rules, overlay=house, calculators=CALCULATORS)


@lru_cache(maxsize=8)
def planner(
    rules: Path | None, house: Path | None, on: dt.date, engine: EngineChoice | None
) -> Planner:
    """Return a planner for a day, made once a process."""
    return prepare(knowledge(rules, house), on, engine)


def parse_day(text: str) -> dt.date:
    """Return a day typed as YYYY-MM-DD. Raises InputProblems."""
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        day = None
    # The standard library reads other spellings too; one spelling is enough.
    if day is None or day.isoformat() != text:
        wrong = f"`{text}` is not a day; write it like 2026-01-12"
        raise InputProblems([Problem("--as-of", "bad-date", wrong)])
    return day
