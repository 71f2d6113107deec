"""Invented clients by the thousand, as lines of a file of cases."""

import datetime as dt
import json
import random
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.quality.people import People

DAY = dt.date(2026, 1, 12)
SESSION_ONLY = "screen.self_harm_thoughts"


def lines(count: int, first: int = 0) -> list[str]:
    """Return clients as JSON lines: some plain, some with anything at all, nobody with a yes of the session."""
    people = People(load_knowledge(calculators=CALCULATORS), DAY)
    made = []
    for seed in range(first, first + count):
        answers = {key: value for key, value in people.person(seed).items() if key != SESSION_ONLY}
        case = {"name": f"Invented Client {seed}", "as_of": DAY.isoformat(), "answers": answers}
        made.append(json.dumps(case, ensure_ascii=bool(random.Random(seed).getrandbits(1))))
    return made


def write(path: Path, rows: list[str]) -> Path:
    path.write_text("\n".join(rows) + "\n", "utf-8")
    return path
