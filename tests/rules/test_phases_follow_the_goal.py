"""Phases follow the goal: no fat loss nobody asked for, and no surplus against the weight somebody named.

That a phase follows the goal is common practice, no source; the kilogram of scatter is the rule book's own.
"""

import dataclasses
from pathlib import Path
from typing import Any

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.clients.book import knowledge
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.values import Status
from assistant.plan import Planner
from assistant.report.plan_text import PlanText

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def made() -> tuple[Planner, Case]:
    kb = knowledge(None, None)
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    return planner_on(case.as_of), case


def _wishing(case: Case, **answers: Any) -> Case:
    named = {f"client.{name}": value for name, value in answers.items()}
    return dataclasses.replace(case, answers={**case.answers, **named})


def _said(run: Run, name: str) -> Any:
    fact = run.facts.get(name)
    return None if fact is None or isinstance(fact.value, Status) else fact.value


# The case builds, weighs 63.5 kg and has a date half a year ahead.
@pytest.mark.parametrize("goal_weight", [63.5, 66, 68])
def test_a_build_with_weight_to_gain_and_a_date_holds_no_fat_loss(
    made: tuple[Planner, Case], goal_weight: float
) -> None:
    planner, case = made
    run = planner.run(_wishing(case, goal_weight_kg=goal_weight))
    assert _said(run, "phase.now") == "build"
    assert _said(run, "phase.hold_from") is not None
    for name in ("phase.cut_from", "phase.cut_until", "phase.cut_weeks"):
        assert _said(run, name) is None
    for audience in ("coach", "client"):
        narrator = planner.narrator(run, audience)
        text = PlanText(planner.plan(case, narrator), narrator, full=True).text()
        assert "Fat loss from" not in text
        assert "lean out" not in text


@pytest.mark.parametrize("answer", [None, False, Status.DECLINED, Status.UNKNOWN])
@pytest.mark.parametrize("goal_weight", [63, Status.NONE, Status.UNKNOWN])
def test_a_build_with_a_date_holds_no_fat_loss_nobody_asked_for(
    made: tuple[Planner, Case], goal_weight: Any, answer: Any
) -> None:
    planner, case = made
    wishing = _wishing(case, goal_weight_kg=goal_weight, cut_before_date=answer)
    if answer is None:
        left = {k: v for k, v in wishing.answers.items() if k != "client.cut_before_date"}
        wishing = dataclasses.replace(wishing, answers=left)
    run = planner.run(wishing)
    assert _said(run, "phase.now") == "build"
    # Three weeks of holding before 2026-08-01, by the calendar.
    assert _said(run, "phase.hold_from") == "2026-07-11"
    for name in ("phase.cut_from", "phase.cut_until", "phase.cut_weeks", "phase.missing_weeks"):
        assert _said(run, name) is None
    for audience in ("coach", "client"):
        narrator = planner.narrator(run, audience)  # type: ignore[arg-type]
        text = PlanText(planner.plan(wishing, narrator), narrator, full=True).text()
        assert "Fat loss from" not in text
        assert "lean out" not in text


def test_a_fat_loss_that_was_asked_for_is_laid_out(made: tuple[Planner, Case]) -> None:
    planner, case = made
    run = planner.run(_wishing(case, goal_weight_kg=63, cut_before_date=True))
    assert _said(run, "phase.cut_from") == "2026-05-09"
    assert _said(run, "phase.hold_from") == "2026-04-18"


@pytest.mark.parametrize(
    ("goal_weight", "asked"), [(58, True), (62.5, True), (62.6, False), (63, False)]
)
def test_a_build_with_a_lighter_goal_weight_is_a_question_and_no_surplus(
    made: tuple[Planner, Case], goal_weight: float, *, asked: bool
) -> None:
    planner, case = made
    run = planner.run(_wishing(case, goal_weight_kg=goal_weight))
    assert bool(_said(run, "unsure.goal_direction")) == asked
    assert (_said(run, "phase.now") == "hold") == asked
    assert (_said(run, "energy.surplus_kcal_per_day") == 0) == asked
    assert (_said(run, "phase.cut_from") is None) == asked
    sentences = {"coach": "which comes first", "client": "Which of the two matters more"}
    for audience, sentence in sentences.items():
        narrator = planner.narrator(run, audience)  # type: ignore[arg-type]
        text = " ".join(PlanText(planner.plan(case, narrator), narrator, full=True).text().split())
        assert (sentence in text) == asked, audience


def test_a_flag_that_hides_weight_never_brings_the_surplus_back(
    made: tuple[Planner, Case],
) -> None:
    planner, case = made
    wishing = _wishing(case, goal_weight_kg=58)
    upset = {**wishing.answers, "screen.measuring_feels": "upsetting"}
    run = planner.run(dataclasses.replace(wishing, answers=upset))
    assert _said(run, "phase.now") == "hold"
    assert not _said(run, "unsure.goal_direction")
    assert not _said(run, "energy.surplus_kcal_per_day")
