"""The next load of a line from the sets that were told.

Load steps of 2 to 10 percent, raised when the repetitions asked for are passed: American College of
Sports Medicine 2009, doi 10.1249/MSS.0b013e3181915670. Two sets under the range before the load falls,
a lighter start after weeks away, and the next exercise where there is no load: common practice, no
source.
"""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.model.history import LiftSet, TopSet
from assistant.model.programme import Line, NextLoad
from assistant.programme.next_load import next_load, working_sets
from programme.clients import request
from programme.documents import catalogue
from programme.weeks import harrow_lane_week

TODAY = dt.date(2026, 3, 2)
THRUST, RAISE = "thrust_barbell", "lateral_raise_dumbbell"
GYM = request("mon tue thu fri sat", 60, abilities=frozenset({"push_up"}))


def _line(exercise: str, sets: int = 3) -> Line:
    any_line = harrow_lane_week().sessions[0].lines[0]
    return dataclasses.replace(
        any_line, exercise=exercise, sets=sets, low=8, high=12, rir=2, measure="repetitions"
    )


def _told(exercise: str, *sets: LiftSet, days_ago: int = 3) -> TopSet:
    first, *others = sets
    day = TODAY - dt.timedelta(days=days_ago)
    return TopSet(day, exercise, *first, tuple(others))


def _sets(load: float, *repetitions: int, reserve: float | None = 2) -> tuple[LiftSet, ...]:
    return tuple(LiftSet(load, count, reserve) for count in repetitions)


def _next(exercise: str, *told: TopSet, **more: object) -> NextLoad:
    found = next_load(_line(exercise), told, TODAY, GYM, catalogue(), **more)  # type: ignore[arg-type]
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("exercise", "sets", "way", "load", "high"),
    [
        (THRUST, _sets(60, 12, 12, 12), "up", 62.5, 12),  # 4.2 % more
        (THRUST, _sets(60, 12, 12, 11), "keep", 60, 12),
        (THRUST, _sets(60, 12, 12, 12, reserve=0), "keep", 60, 12),  # top reached, too hard
        (THRUST, _sets(60, 7, 7, 8), "down", 57.5, 12),
        (THRUST, _sets(60, 8, 8, 7), "keep", 60, 12),  # one set under is no reason
        (THRUST, _sets(200, 12, 12, 12), "up", 205, 12),  # 2.5 kg would be under 2 %
        (RAISE, _sets(6, 12, 12, 12), "wider", 6, 15),  # 2 kg is 33 %
        (RAISE, _sets(6, 15, 15, 15), "up", 8, 12),  # and now it is earned
        # The top set alone: what follows if the rest was as good.
        (THRUST, _sets(60, 12), "up_if", 62.5, 12),
        (THRUST, _sets(60, 7), "down", 57.5, 12),
        (THRUST, _sets(60, 12, 12, 12, reserve=None), "up_if", 62.5, 12),
        # Sets on the way up say nothing, and lighter ones after it hold the load.
        (THRUST, (*_sets(60, 12, 12, 12), *_sets(40, 12)), "up", 62.5, 12),
        (THRUST, (*_sets(60, 12, 12), *_sets(55, 12)), "keep", 60, 12),
        (THRUST, (*_sets(60, 12), *_sets(55, 12)), "keep", 60, 12),
    ],
)
def test_double_progression(
    exercise: str, sets: tuple[LiftSet, ...], way: str, load: float, high: int
) -> None:
    found = _next(exercise, _told(exercise, *sets))
    assert (found.way, found.load_kg, found.high) == (way, load, high)


def test_nothing_told_says_nothing() -> None:
    assert next_load(_line(THRUST), (), TODAY, GYM, catalogue()) is None
    later = TopSet(TODAY + dt.timedelta(days=1), THRUST, 60, 12, 2)
    assert next_load(_line(THRUST), [later], TODAY, GYM, catalogue()) is None
    held = dataclasses.replace(_line("plank"), measure="seconds")
    assert next_load(held, [_told("plank", *_sets(0, 12))], TODAY, GYM, catalogue()) is None


def test_the_last_session_counts_not_the_best() -> None:
    told = [_told(THRUST, *_sets(70, 12, 12, 12), days_ago=9), _told(THRUST, *_sets(60, 9, 9, 9))]
    assert _next(THRUST, *told).load_kg == 60


@pytest.mark.parametrize(("days_ago", "way", "load"), [(20, "up", 62.5), (21, "back", 52.5)])
def test_after_weeks_without_the_lift_it_starts_lighter(
    days_ago: int, way: str, load: float
) -> None:
    found = _next(THRUST, _told(THRUST, *_sets(60, 12, 12, 12), days_ago=days_ago))
    assert (found.way, found.load_kg) == (way, load)  # 90 % of 60 is 54, on the bar 52.5


def test_a_lighter_week_is_lighter_says_nothing_and_ends_with_a_little_less() -> None:
    before = _told(THRUST, *_sets(60, 12, 12, 12), days_ago=9)
    during = _told(THRUST, *_sets(52.5, 12, 12, 12), days_ago=3)
    running = _next(THRUST, before, lighter=[TODAY - dt.timedelta(days=2)])
    assert (running.way, running.load_kg) == ("lighter", 52.5)
    over = _next(THRUST, before, during, lighter=[TODAY - dt.timedelta(days=7)])
    assert (over.way, over.load_kg) == ("after_lighter", 55)  # 95 % of 60 is 57, on the bar 55


def test_a_fall_being_looked_into_holds_the_load_and_lowers_what_must_fall() -> None:
    assert _next(THRUST, _told(THRUST, *_sets(60, 12, 12, 12)), hold=True).way == "hold"
    assert _next(THRUST, _told(THRUST, *_sets(60, 12, 12, 12)), hold=True).load_kg == 60
    assert _next(THRUST, _told(THRUST, *_sets(60, 7, 7, 7)), hold=True).load_kg == 57.5


def test_no_load_rises_on_a_joint_that_hurts() -> None:
    full = _told(THRUST, *_sets(60, 12, 12, 12))
    joint = catalogue().exercises["squat_back_barbell"].joint_stress[0]
    squat = TopSet(full.day, "squat_back_barbell", 60, 12, 2, full.others)
    found = _next("squat_back_barbell", squat, sore=[joint])
    assert (found.way, found.load_kg) == ("hold_sore", 60)
    assert _next("squat_back_barbell", squat, sore=[]).way == "up"
    low = TopSet(full.day, "squat_back_barbell", 60, 7, 2, _sets(60, 7, 7))
    assert _next("squat_back_barbell", low, sore=[joint]).load_kg == 57.5


def test_sets_from_another_range_are_worked_out_not_stepped() -> None:
    """Five repetitions with two left are worth about 81 % of the maximum, ten with two about 70 %
    (the mean of Epley, Brzycki and Wathan, whose printed values tests/calculate holds)."""
    heavy = _next(THRUST, _told(THRUST, *_sets(80, 4, 4, 4)))
    assert heavy.way == "other_range"
    assert heavy.load_kg is not None
    assert 62.5 <= heavy.load_kg <= 70
    untold = _next(THRUST, _told(THRUST, *_sets(80, 4, 4, 4, reserve=None)))
    assert untold.way == "down"


@pytest.mark.parametrize(
    ("repetitions", "way"), [((12, 12, 12), "harder"), ((12, 12, 11), "repetitions")]
)
def test_without_load_steps_repetitions_come_first_then_the_next_exercise(
    repetitions: tuple[int, ...], way: str
) -> None:
    found = _next("push_up_kneeling", _told("push_up_kneeling", *_sets(0, *repetitions)))
    assert (found.way, found.load_kg) == (way, None)
    assert bool(found.exercise) == (way == "harder")


def test_without_load_steps_nothing_gets_harder_while_it_hurts_or_waits() -> None:
    told = [_told("push_up_kneeling", *_sets(0, 12, 12, 12))]
    joint = catalogue().exercises["push_up_kneeling"].joint_stress[0]
    for more in ({"sore": [joint]}, {"hold": True}, {"lighter": [TODAY]}):
        found = next_load(_line("push_up_kneeling"), told, TODAY, GYM, catalogue(), **more)  # type: ignore[arg-type]
        assert found is None


@pytest.mark.parametrize(
    "more",
    [
        {
            "sore_joints": frozenset({"wrist", "shoulder", "elbow"}),
            "abilities": frozenset({"push_up"}),
        },
        # Twelve from the knees, with half of the body's weight, are four or five on the floor, not the ten asked about.
        {},
    ],
    ids=["joints", "not said to be done"],
)
def test_the_next_exercise_is_one_this_client_may_do(more: dict[str, object]) -> None:
    rested = request("mon thu", 60, **more)  # type: ignore[arg-type]
    told = [_told("push_up_kneeling", *_sets(0, 12, 12, 12))]
    found = next_load(_line("push_up_kneeling"), told, TODAY, rested, catalogue())
    assert found is not None
    assert (found.way, found.high) == ("more_repetitions", 15)


def test_working_sets() -> None:
    assert working_sets(_sets(60, 8)) == _sets(60, 8)
    assert working_sets((*_sets(70, 5), *_sets(60, 8, 8))) == _sets(60, 8, 8)
    assert working_sets((*_sets(70, 5), *_sets(60, 8))) == _sets(70, 5)


@settings(max_examples=200, deadline=None)
@given(
    load=st.integers(2, 80).map(lambda n: n * 2.5),
    repetitions=st.lists(st.integers(1, 20), min_size=1, max_size=5),
    reserve=st.sampled_from([None, 0, 1, 2, 3, 4]),
    days_ago=st.integers(0, 60),
)
def test_no_load_jumps(
    load: float, repetitions: list[int], reserve: float | None, days_ago: int
) -> None:
    """Whatever was told in the line's range: never up more than the steps allow, never up when failing."""
    told = _told(THRUST, *_sets(load, *repetitions, reserve=reserve), days_ago=days_ago)
    found = _next(THRUST, told)
    assert found.load_kg is not None
    if found.way == "other_range":
        return
    if load >= 25:  # under it the smallest plates are more than a tenth
        assert found.load_kg <= load * 1.1 + 1e-9
    if min(repetitions) < 12:
        assert found.load_kg <= load
