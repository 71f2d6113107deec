"""Warning signs in a record lead to the screen or a hold, never to less food, whatever was agreed since.

The lines themselves (1 % a week, 90 days, body mass index 17.5) are the screen's own and checked
against their sources in tests/screen; here it is that a record cannot slip past them.
"""

import dataclasses
import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from records import day, even

from assistant.measure import Findings
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.history import Agreement, DayNote, History, Pain, Weighing
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value
from assistant.plan import Planner
from assistant.plan.record import findings_of
from assistant.plan.visibility import withheld_outputs

DAYS = 56
# A cut that goes nowhere: alone it calls for a step less food.
CUT: Mapping[str, Any] = {"kcal": 1900.0, "phase": "cut", "target": 1900.0}
Runner = Callable[..., Run]


@pytest.fixture(scope="module")
def run_of(kb: KnowledgeBase, case: Case, planner_of: Callable[[dt.date], Planner]) -> Runner:
    def run(history: History, last: int = DAYS - 1, **answers: Value) -> Run:
        changed: Mapping[str, Value] = {k.replace("__", "."): v for k, v in answers.items()}
        cutting = {"client.goal": "lose_fat", "client.goal_weight_kg": 56.0, **changed}
        own = dataclasses.replace(case, answers={**case.answers, **cutting})
        found: Findings | None = findings_of(kb, own, history, day(last))
        return planner_of(day(last)).run(own, found)

    return run


def _plateau(**changes: Any) -> History:
    history = even(DAYS, **CUT)
    return dataclasses.replace(history, **changes)


def _no_period(last: int) -> History:
    history = even(last + 1, **CUT)
    first = DayNote(day(2), sleep_hours=7.5, cycle_start=True)
    notes = tuple(first if note.day == first.day else note for note in history.notes)
    return dataclasses.replace(history, notes=notes)


def _value(run: Run, fact: str) -> Any:
    return run.facts[fact].value if fact in run.facts else None


def _flags(run: Run) -> tuple[str, ...]:
    value = _value(run, "screen.flags")
    return value if isinstance(value, tuple) else ()


def _eats_less(run: Run) -> bool:
    change = _value(run, "review.energy_change_kcal_per_day")
    return isinstance(change, int | float) and change < 0


def test_the_plateau_alone_calls_for_a_step_less(run_of: Runner) -> None:
    """Without this the other tests would prove nothing."""
    assert _eats_less(run_of(_plateau()))


@pytest.mark.parametrize(
    "sign",
    [
        {"notes": tuple(DayNote(day(n), sleep_hours=8.0, mood_1_to_5=1) for n in range(DAYS))},
        {"pains": tuple(Pain(day(n), "knee", 6) for n in range(46, DAYS))},
        {"pains": tuple(Pain(day(n), "knee", 8) for n in range(46, DAYS))},
    ],
    ids=["low mood", "pain", "strong pain"],
)
def test_a_sign_in_the_notes_is_no_moment_for_less_food(
    run_of: Runner, sign: Mapping[str, Any]
) -> None:
    assert not _eats_less(run_of(_plateau(**sign)))


@pytest.mark.parametrize("excuse", [{}, {"screen__pcos_in_care": True}])
def test_no_period_for_long_is_no_moment_for_less_food(
    run_of: Runner, excuse: Mapping[str, Value]
) -> None:
    last = DAYS + 60
    run = run_of(_no_period(last), last, **excuse)
    assert not _eats_less(run)
    if not excuse:
        assert "no_period_3_months" in _flags(run)
        assert "energy_deficit" in withheld_outputs(run)


def test_silence_about_contraception_does_not_take_the_flag_away(run_of: Runner) -> None:
    last = DAYS + 60
    run = run_of(_no_period(last), last, screen__hormonal_contraception=Status.DECLINED)
    assert "no_period_3_months" in _flags(run)
    assert _value(run, "review.decision") == "refer"


def test_an_agreement_does_not_hide_a_fast_loss(run_of: Runner) -> None:
    """1.3 % a week, then a new target: the flag stays in view for two weeks after the loss ended."""
    falling = even(DAYS, weight=70.0, kg_per_week=-0.9, **CUT)
    for when in (DAYS - 8, DAYS - 1):
        new = Agreement(day(when), energy_target_kcal_per_day=2400.0, phase="hold")
        run = run_of(dataclasses.replace(falling, agreements=(*falling.agreements, new)))
        assert "weight_loss_fast" in _flags(run), when
        assert not _eats_less(run)


def test_an_old_fast_loss_is_past(run_of: Runner) -> None:
    weights = tuple(
        Weighing(day(n), 70.0 - 0.13 * min(n, 30)) for n in range(DAYS + 10)
    )  # flat for five weeks
    run = run_of(History(weighings=weights), DAYS + 9)
    assert "weight_loss_fast" not in _flags(run)


def test_the_weight_of_this_week_is_the_one_the_screen_reads(run_of: Runner) -> None:
    weights = tuple(Weighing(day(n), 46.4) for n in range(DAYS))
    run = run_of(_plateau(weighings=weights), client__height_cm=165.0, client__weight_kg=60.0)
    assert _value(run, "client.weight_kg") == pytest.approx(46.4)
    assert any(flag.startswith("bmi") for flag in _flags(run)), _flags(run)
    assert not _eats_less(run)


def test_two_weighings_are_too_few_to_take_the_place_of_an_answer(run_of: Runner) -> None:
    run = run_of(History(weighings=(Weighing(day(54), 46.4), Weighing(day(55), 46.4))))
    assert _value(run, "client.weight_kg") != pytest.approx(46.4)


def test_sixteen_weeks_of_fat_loss_are_not_made_longer_by_a_cut(run_of: Runner) -> None:
    last = 7 * 17
    run = run_of(even(last + 1, **CUT), last)
    assert not _eats_less(run)
    candidates = _value(run, "review.candidates")
    assert isinstance(candidates, tuple)
    assert "move_phase" in candidates
