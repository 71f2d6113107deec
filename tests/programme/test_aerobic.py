"""Aerobic minutes and steps: the public figures, raised from what somebody does, never in the way of the legs.

Outside sources: WHO 2020 (Bull et al., Br J Sports Med 54:1451): adults move at moderate effort for 150 to 300 minutes
a week; who does little begins small and raises it. Paluch et al. 2022, Lancet Public Health 7:e219: risk levels off at
8,000 to 10,000 steps a day under sixty and 6,000 to 8,000 from sixty on. Which findings hold it back: our own reading.
"""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path

import pytest
from lengths import first_by_default
from shipped import planner_on

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.engine import compile_knowledge, run_engine
from assistant.model.derivation import Run
from assistant.model.values import WEEKDAYS
from assistant.plan.visibility import withheld_outputs
from assistant.programme.week import plan_week
from assistant.quality.people import People
from programme.cases import CASES, asked_of
from programme.documents import book, pattern_rows, rows

DAY = dt.date(2026, 1, 12)
PEOPLE = 240
MINUTES, MOST_WEEKS = (150, 300), 26
STEPS = {False: (8000, 10000), True: (6000, 8000)}
GIVEN = (
    "minutes_per_week", "start_minutes_per_week", "raise_minutes", "days", "steps_per_day",
    "hard_minutes",
)  # fmt: skip
# Where more expenditure could harm, or a team decides: each is read here from the flag's own page.
WAITS = {
    "exercise_compulsion", "eating_disorder_current", "purging_or_misuse", "energy_availability_low",
    "bone_stress_injury", "bmi_under_17_5", "weight_loss_unplanned", "no_period_3_months",
    "under_18", "pregnant", "concussion_return",
}  # fmt: skip
TRAINING = [path for path in CASES if path.stem != "stop_today"]


@cache
def runs() -> tuple[Run, ...]:
    """Invented people like the cases, and wild ones, whole runs."""
    bases = [read_case(path, book()).answers for path in CASES]
    made, compiled = People(book(), DAY, bases), compile_knowledge(book(), DAY)
    return tuple(
        run_engine(compiled, made.person(seed), DAY, "clips", CALCULATORS) for seed in range(PEOPLE)
    )


def value(run: Run, name: str) -> object:
    fact = run.facts.get(name)
    return fact.value if fact is not None else None


def said(run: Run, name: str) -> object:
    """What a run says of aerobic work, or nothing."""
    return value(run, f"aerobic.{name}")


def test_minutes_and_steps_are_those_of_the_guidance() -> None:
    asked = [run for run in runs() if said(run, "minutes_per_week")]
    assert len(asked) >= PEOPLE / 12
    for run in asked:
        minutes = run.facts["aerobic.minutes_per_week"]
        assert (minutes.low, minutes.high) == MINUTES
        start, more = said(run, "start_minutes_per_week"), said(run, "raise_minutes")
        assert (start is None) == (value(run, "client.daily_activity") != "inactive")
        if isinstance(start, float) and isinstance(more, float):
            assert 0 < start <= MINUTES[0]
            assert (MINUTES[0] - start) / more <= MOST_WEEKS
        steps, age = run.facts.get("aerobic.steps_per_day"), value(run, "client.age_years")
        if steps is not None:
            assert isinstance(age, float)
            assert (steps.low, steps.high) == STEPS[age >= 60]
    assert any(said(run, "start_minutes_per_week") for run in asked)


def test_whoever_gets_no_minutes_has_a_reason_for_it() -> None:
    for run in runs():
        if said(run, "minutes_per_week") is None:
            activity = value(run, "client.daily_activity")
            assert (
                activity not in {"inactive", "low_active", "active"}
                or said(run, "held")
                or value(run, "training.lifting_waits")
                or "exercise_any" in withheld_outputs(run)
            )


def test_nothing_is_added_where_the_screen_holds_training_or_energy_back() -> None:
    held = 0
    for run in runs():
        flags = value(run, "screen.flags")
        flags = set(flags) if isinstance(flags, tuple | list) else set()
        if "exercise_any" in withheld_outputs(run) or flags & WAITS:
            held += 1
            assert [name for name in GIVEN if said(run, name)] == []
            assert not value(run, "advice.aerobic_any_day")
    assert held >= PEOPLE / 12


def test_a_hard_bout_stands_only_where_it_was_asked_for_and_may_be_hard() -> None:
    hard = [run for run in runs() if said(run, "hard_minutes")]
    assert hard
    for run in hard:
        assert value(run, "client.conditioning") is True
        assert said(run, "days")
        assert not {"exercise_any", "vigorous_effort"} & withheld_outputs(run)
        assert value(run, "screen.active_last_3_months") is not False


def hard_for_the_legs(exercise: str) -> bool:
    """A big lift of the lower body."""
    pattern = pattern_rows()[rows()[exercise]["pattern"]]
    return bool(pattern["region"] == "lower" and pattern["kind"] == "compound")


@pytest.mark.parametrize("path", first_by_default(TRAINING, 4), ids=lambda path: path.stem)
def test_longer_work_is_neither_on_the_day_of_heavy_legs_nor_before_it(path: Path) -> None:
    case = read_case(path, book())
    days = said(planner_on(case.as_of).run(case), "days") or ()
    assert isinstance(days, tuple)
    request, catalogue = asked_of(path)
    assert request is not None
    week = plan_week(request, catalogue, try_remedies=False)
    legs = {s.day for s in week.sessions if any(hard_for_the_legs(e.exercise) for e in s.lines)}
    assert legs
    for day in days:
        after = WEEKDAYS[(WEEKDAYS.index(day) + 1) % len(WEEKDAYS)]
        assert not {day, after} & legs, (path.stem, day)


def test_most_people_who_train_few_days_get_a_day_for_it() -> None:
    """A law that allows no day at all would pass the one above."""
    few = [run for run in runs() if value(run, "week.structure") in {"full_1", "full_2"}]
    placed = [run for run in few if said(run, "days")]
    assert placed
