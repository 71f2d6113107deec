"""Makes the stored log `past_log.jsonl`: ten decisions and two changes, with the small book beside it.

Run once with Python 3.11 and durable_rules: `PYTHONPATH=. python tests/audit/make_past_log.py`. The log is
then never made again: that it can still be replayed, on any engine and any Python, is the test.
"""

import datetime as dt
import sys
from pathlib import Path

from assistant.audit.decision import decision_body
from assistant.audit.entry import DecisionEntry, shaped
from assistant.audit.override import Wish, override_body
from assistant.audit.store import append, sound_log
from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import check_answers
from assistant.knowledge import load_knowledge
from assistant.model.case import Case, Decision
from assistant.plan import prepare

HERE = Path(__file__).parent
DAY = dt.date(2026, 1, 12)
CLEAR = {"screen.symptom_now": False, "screen.eating_sign": False}
PEOPLE = (
    {"client.age_years": 30, "client.weight_kg": 61.7, "client.priority_muscles": ["lats"]},
    {"client.weight_kg": 83.123456789, "client.sleep_hours": 5.5},
    {"client.priority_muscles": ["lats", "quads"], "client.sleep_hours": 8},
    {"client.weight_kg": 70, "screen.eating_sign": True},
    {"client.weight_kg": 70, "screen.symptom_now": True},
    {
        "screen.symptom_now": "declined",
        "screen.eating_sign": "unknown",
        "client.weight_kg": 1e2 / 3,
    },
    {"client.weight_kg": 0.1 + 0.2 + 60, "client.priority_muscles": []},
    {},
    {"client.age_years": 14, "client.weight_kg": 30},
    {"client.age_years": 100, "client.weight_kg": 250, "client.sleep_hours": 0},
)


def make(path: Path) -> None:
    """Write the log."""
    kb = load_knowledge(HERE / "small_book", calculators=CALCULATORS, use_cache=False)
    planner = prepare(kb, DAY)
    written = dt.datetime(2026, 1, 12, 9, 30, tzinfo=dt.UTC)
    reason = Decision(
        "set_aside",
        "tired",
        "L. Marrow",
        "new baby",
        DAY,
        DAY + dt.timedelta(weeks=2),
        "head_trainer",
    )
    for number, person in enumerate(PEOPLE):
        answers, problems = check_answers({**CLEAR, **person}, kb)
        assert not problems, problems
        case = Case("Invented Person", DAY, answers, decisions=(reason,) if number == 1 else ())
        body = decision_body(planner, case, audience="coach", written=written)
        append(path, lambda: {**body, "client": f"c-{number:012x}"})  # noqa: B023 - asked at once
    entries = shaped(sound_log(path).entries, str(path))
    for number, line, to in ((1, "training.dose[lats]", "14"), (7, "food.target", "2050")):
        entry = entries[number - 1]
        assert isinstance(entry, DecisionEntry)
        wish = Wish(line, to, "head trainer", "agreed with the client")
        change = override_body(entry, wish, kb, written)
        append(path, lambda: change)  # noqa: B023 - asked at once


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "past_log.jsonl")
