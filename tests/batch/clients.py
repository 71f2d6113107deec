"""Invented clients by the thousand, as lines of a file of cases."""

import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.knowledge import load_knowledge
from assistant.knowledge.flag_rules import DECISIONS
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.quality.people import People

ROOT = Path(__file__).parents[2]
DAY = dt.date(2026, 1, 12)


def lines(count: int, first: int = 0) -> Iterator[str]:
    """Yield clients as JSON lines.

    Two in three are a demo case with a few answers changed, or one rule's own test put into one; one
    in three answers at random. Nobody has a yes that is kept for the session.
    """
    kb = load_knowledge(calculators=CALCULATORS)
    bases = [read_case(path, kb).answers for path in sorted((ROOT / "cases").glob("*.yaml"))]
    people = People(kb, DAY, bases)
    for seed in range(first, first + count):
        person = people.person(seed)
        # What people decided about flags is no answer; a case file says who decided, and why.
        left_out = {*SESSION_ONLY_FACTS, *DECISIONS.values()}
        answers = {key: value for key, value in person.items() if key not in left_out}
        case = {"name": f"Invented Client {seed}", "as_of": DAY.isoformat(), "answers": answers}
        yield json.dumps(case)


def write(path: Path, count: int, first: int = 0) -> Path:
    """Write a file of clients."""
    with path.open("w", encoding="utf-8") as stream:
        stream.writelines(line + "\n" for line in lines(count, first))
    return path
