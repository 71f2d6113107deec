"""The meals of a day make the day's protein, in the facts and in the words a reader sees.

Outside source: arithmetic; a figure printed in whole grams is off by half a gram at most.
"""

import dataclasses
import datetime as dt
import re
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.engine import compile_knowledge, run_engine
from assistant.plan.language import localised, read_language
from assistant.quality.people import People

DAY = dt.date(2026, 1, 12)
CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.yaml"))
PEOPLE = 150
NUMBER = re.compile(r"\d+")
LANGUAGES = ("en", "de")


@pytest.mark.parametrize("meals", [3.0, 4.0, 6.0])
def test_meals_make_the_day_for_anybody(meals: float) -> None:
    kb = planner_on(DAY).kb
    house = dataclasses.replace(kb, overlay={**kb.overlay, "protein.meals": meals})
    bases = [read_case(path, kb).answers for path in CASES]
    made, compiled = People(kb, DAY, bases), compile_knowledge(house, DAY)
    seen = 0
    for seed in range(PEOPLE // 3):
        facts = run_engine(compiled, made.person(seed), DAY, "clips", CALCULATORS).facts
        meal, day = facts.get("protein.per_meal_g"), facts.get("protein.g_per_day")
        if meal is None or day is None:
            assert meal is None
            continue
        seen += 1
        assert facts["protein.meals"].value == meals
        for end in ("value", "low", "high"):
            assert getattr(meal, end) * meals == pytest.approx(getattr(day, end))
    assert seen >= 8


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_printed_meals_make_the_printed_day(code: str) -> None:
    printed = 0
    for path in CASES:
        planner = planner_on(read_case(path, planner_on(DAY).kb).as_of)
        language = read_language(planner.kb, code)
        planner = dataclasses.replace(planner, kb=localised(planner.kb, language))
        plan = planner.plan(
            read_case(path, planner.kb),
            planner.narrator(planner.run(read_case(path, planner.kb)), "client"),
            None,
        )
        said = {line.id: [int(n) for n in NUMBER.findall(line.text)] for line in plan.lines}
        if "food.protein_meal" not in said:
            continue
        printed += 1
        meals, meal, *_ = said["food.protein_meal"]
        day = said["food.protein"][0]
        assert abs(meals * meal - day) <= meals / 2 + 0.5, path.stem
    assert printed >= 6
