"""Invented clients of Harrow Lane Strength with a year (or more) of check-ins. Nobody is meant."""

import datetime as dt
import json
import random
from pathlib import Path
from typing import Any

from shipped import planner_on

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.model.chain import plain_json
from assistant.model.entries import Entry
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import as_json
from assistant.plan.digest import plan_digest
from assistant.records.chain import PLAN, NewLine
from assistant.records.projection import answers_line, entry_line
from assistant.records.store import Records

ROOT = Path(__file__).parents[2]
LIFTS = ("squat_back_barbell", "press_bench_barbell", "rdl_barbell", "thrust_barbell")
DAYS = ("mon", "tue", "thu", "sat")


def answers_and_plan(kb: KnowledgeBase, on: dt.date) -> tuple[dict[str, Any], dict[str, Any]]:
    """Answers of a shipped case, and the digest of the plan that the rules make of them."""
    case = read_case(ROOT / "cases" / "four_days.yaml", kb)
    planner = planner_on(on)
    assert CALCULATORS
    answers = {fact: as_json(value) for fact, value in case.answers.items()}
    return answers, plan_digest(kb, planner.run(case), on)


def a_history(
    chance: random.Random, first: dt.date, days: int, weighings: float, food: float = 0.35
) -> list[NewLine]:
    """Lines of check-ins on `days` days: most weights, some food, four sessions and lifts a week."""
    weight, pace = chance.uniform(52, 90), chance.uniform(-0.15, 0.25)
    lines: list[NewLine] = []
    for number in range(days):
        day = first + dt.timedelta(days=number)
        said: list[Entry] = []
        if chance.random() < weighings:
            noise = chance.gauss(0, 0.5)
            said.append(Entry("weight_kg", day, round(weight + pace * number / 7 + noise, 1)))
        if chance.random() < food:
            said.append(Entry("energy_kcal", day, float(chance.randrange(1700, 2900, 10))))
            said.append(Entry("protein_g", day, float(chance.randrange(80, 160))))
        if day.weekday() in {0, 1, 3, 5}:
            said.append(Entry("session", day, float(chance.random() < 0.85)))
            lift = LIFTS[day.weekday() % 4]
            load = 40.0 + number / 30 + chance.gauss(0, 1.5)
            said.append(
                Entry("top_set", day, round(load * 2) / 2, lift, chance.randrange(5, 11), 2.0)
            )
        if day.weekday() == 6:
            said.append(Entry("sleep_hours", day, chance.choice([5.5, 6.5, 7.0, 7.5, 8.0])))
            said.append(Entry("mood_1_to_5", day, float(chance.randrange(2, 6))))
            said.append(Entry("soreness_1_to_5", day, float(chance.randrange(1, 5))))
            said.append(Entry("girth_cm", day, round(72 + chance.gauss(0, 0.7), 1), "waist"))
            if chance.random() < 0.1:
                said.append(Entry("pain", day, float(chance.randrange(1, 8)), "knee"))
        lines += [entry_line(entry, day) for entry in said]
    return lines


def add_clients(
    records: Records,
    kb: KnowledgeBase,
    count: int,
    first: dt.date,
    days: int,
    *,
    weighings: float = 0.7,
    food: float = 0.35,
    seed: int = 1,
) -> int:
    """Add clients; return the number of days with a check-in, over all of them."""  # fmt: skip
    chance = random.Random(seed)
    answers, digest = answers_and_plan(kb, first)
    checkins = 0
    for number in range(count):
        own = json.loads(json.dumps(digest))
        made = first + dt.timedelta(days=max(days - chance.randrange(7, 50), 0))
        own["as_of"] = made.isoformat()
        own["facts"]["review.next_date"] = (made + dt.timedelta(weeks=5)).isoformat()
        quiet = chance.choice([0, 0, 0, 0, 15])
        lines = a_history(chance, first, days - quiet, weighings, food)
        checkins += len({line.day for line in lines})
        plan = NewLine(PLAN, made, made, body=plain_json(own))
        records.add(f"Client {number:04}", first, [answers_line(answers, made), plan, *lines])
    return checkins
