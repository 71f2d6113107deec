"""The way up to the working sets: lighter sets that the kit can load, within the minutes a session has.

Outside source: Ribeiro et al. 2020, Int J Environ Res Public Health 17:6882 (abstract): sets at 40 and 80 % of the
working load suited bench presses best, 80 % squats, and 40 % alone was not enough. The empty bar of 20 kg and
the rest: common practice, no source.
"""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterator

import pytest

from assistant.model.programme import Line, Programme, Session
from assistant.programme.progression import easier_week
from assistant.programme.request import Pin
from assistant.programme.warm_up import with_warm_up
from assistant.programme.week import plan_week
from programme.checker import warm_up_of
from programme.clients import request
from programme.documents import catalogue, pattern_rows, rows
from programme.weeks import four_day_week, harrow_lane_week, home_week, two_evenings_week

WEEKS = (harrow_lane_week, four_day_week, home_week, two_evenings_week)
BAR_KG = {"barbell": 20.0, "hex_bar": 25.0}
STEP_KG = {"barbell": 2.5, "hex_bar": 2.5, "dumbbell": 2.0, "kettlebell": 4.0, "cable": 2.5}
LEAST_EASY_S, SET_S = 120, 60


def has_own_time(line: Line) -> bool:
    """Heavy and big bar lifts, as the checker's clock counts them."""
    row = rows()[line.exercise]
    bar = BAR_KG.keys() & set(row["equipment"])
    return line.zone == "heavy" or (
        bool(bar) and pattern_rows()[row["pattern"]]["kind"] == "compound"
    )


def open_faults(line: Line) -> Iterator[str]:
    """What is wrong with the way up to a load that is not known yet."""
    shares = [each.percent for each in line.warm_up]
    if any(each.load_kg is not None for each in line.warm_up) or shares != sorted(set(shares)):
        yield "loads for an unknown working load, or shares that do not rise"
    has_bar = BAR_KG.keys() & set(rows()[line.exercise]["equipment"])
    if has_bar and has_own_time(line) and len(line.warm_up) == 1:
        yield "fewer than two lighter sets before a bar or a heavy lift"


def faults(session: Session) -> list[str]:
    """What a coach would strike out of a session's warm-up, one sentence each."""
    found, easy = [], 0
    for line in session.lines:
        where = f"{session.day} {line.exercise} {line.load_kg}: {line.warm_up}"
        easy += 0 if has_own_time(line) else len(line.warm_up)
        loads = [each.load_kg for each in line.warm_up]
        if line.load_kg is None:
            found += [f"{each}, {where}" for each in open_faults(line)]
            continue
        known = [load for load in loads if load is not None]
        if known != sorted(set(known)) or any(load >= line.load_kg for load in known):
            found.append(f"not rising to the working load, {where}")
        repetitions = [each.repetitions for each in line.warm_up]
        if repetitions != sorted(repetitions, reverse=True) or len(loads) > 4:
            found.append(f"more work as the load rises, {where}")
        kit = rows()[line.exercise]["equipment"]
        if any(load < BAR_KG.get(piece, 0.0) for load in known for piece in kit):
            found.append(f"lighter than the empty bar, {where}")
        if any(load % STEP_KG[piece] for load in known for piece in kit if piece in STEP_KG):
            found.append(f"no such plates, {where}")
    if session.warm_up_s < LEAST_EASY_S:
        found.append(f"{session.day}: {session.warm_up_s} s of easy movement")
    if session.warm_up_s + easy * SET_S != warm_up_of(session.type, session.minutes_allowed):
        found.append(f"{session.day}: minutes counted twice or not at all")
    return found


def minutes_faults(session: Session) -> list[str]:
    """Whether all parts add up to the printed minutes and these to no more than the day has."""
    easy = sum(0 if has_own_time(line) else len(line.warm_up) for line in session.lines)
    parts = session.warm_up_s + easy * SET_S + sum(line.seconds for line in session.lines)
    adds_up = session.minutes == pytest.approx(parts / 60, abs=0.06)
    return [] if adds_up and session.minutes <= session.minutes_allowed else [session.day]


def test_solved_weeks_are_warmed_up_for_within_their_minutes() -> None:
    sessions = [session for week in WEEKS for session in week().sessions]
    assert [fault for session in sessions for fault in faults(session)] == []
    assert [day for session in sessions for day in minutes_faults(session)] == []
    warmed = [line.exercise for session in sessions for line in session.lines if line.warm_up]
    # Nobody works up to a press against rotation or a carry (common practice, no source).
    kinds = {pattern_rows()[rows()[name]["pattern"]]["kind"] for name in warmed}
    assert "compound" in kinds
    assert "trunk" not in kinds
    lighter = easier_week(harrow_lane_week(), catalogue())
    assert [fault for session in lighter for fault in faults(session)] == []


def test_every_solved_session_that_opens_with_a_loaded_lift_is_worked_up_to() -> None:
    sessions = [session for week in WEEKS for session in week().sessions]
    opened = [s.lines[0] for s in sessions if STEP_KG.keys() & kit_of(s.lines[0])]
    assert len(opened) >= 6
    assert [line.exercise for line in opened if not line.warm_up] == []


def kit_of(line: Line) -> set[str]:
    return set(rows()[line.exercise]["equipment"])


def made_up(draw: random.Random, lines: list[Line]) -> Session:
    """A session of lines of the book in any order, with loads in steps of their kit or none yet."""
    chosen = []
    for line in draw.sample(lines, draw.randint(1, 7)):
        steps = [STEP_KG[piece] for piece in sorted(kit_of(line)) if piece in STEP_KG]
        load = steps[0] * draw.randint(1, 60) if steps and draw.random() < 0.8 else None
        zone = draw.choice(["heavy", "moderate", "light"])
        chosen.append(dataclasses.replace(line, load_kg=load, zone=zone))
    kind, minutes = draw.choice([("full", 60), ("upper", 45), ("short", 25), ("full", 30)])
    return Session("mon", kind, 0.0, minutes, tuple(chosen))


def test_thousand_made_up_sessions() -> None:
    draw = random.Random(20_261_130)
    first = harrow_lane_week().sessions[0].lines[0]
    lines = [
        dataclasses.replace(first, exercise=name, measure=row["measure"])
        for name, row in sorted(rows().items())
    ]
    made = [with_warm_up(made_up(draw, lines), catalogue()) for _ in range(1000)]
    assert [fault for session in made for fault in faults(session)] == []
    said = [line for session in made for line in session.lines if line.warm_up]
    assert {len(line.warm_up) for line in said if line.load_kg} >= {1, 2, 3}


def bar(load: float | None, zone: str = "moderate") -> tuple[tuple[float | None, int], ...]:
    """The lighter sets of a bench press with a bar: load and repetitions."""
    line = next(
        line for week in WEEKS for s in week().sessions for line in s.lines if line.load_kg is None
    )
    line = dataclasses.replace(line, exercise="press_bench_barbell", load_kg=load, zone=zone)
    line = dataclasses.replace(line, measure="repetitions")
    session = with_warm_up(Session("mon", "full", 0.0, 60, (line,)), catalogue())
    return tuple((each.load_kg, each.repetitions) for each in session.lines[0].warm_up)


@pytest.mark.parametrize(
    ("load", "zone", "sets"),
    [
        (100.0, "moderate", ((50.0, 8), (80.0, 4))),
        (100.0, "heavy", ((50.0, 8), (65.0, 6), (80.0, 4))),
        (30.0, "moderate", ((20.0, 8), (25.0, 4))),
        (25.0, "moderate", ((20.0, 8),)),
        (20.0, "moderate", ()),
        (None, "moderate", ((None, 8), (None, 4))),
    ],
)
def test_a_bench_press_by_hand(
    load: float | None, zone: str, sets: tuple[tuple[float | None, int], ...]
) -> None:
    """Worked out by hand: half, then four fifths, in steps of 2.5 kg and never under the bar."""
    assert bar(load, zone) == sets


def test_a_lift_for_muscles_at_work_already_needs_no_lighter_set() -> None:
    week: Programme = four_day_week()
    day = next(session for session in week.sessions if session.type == "lower")
    first = next(line for line in day.lines if line.warm_up)
    again = dataclasses.replace(first, order=first.order + 1)
    twice = with_warm_up(dataclasses.replace(day, lines=(first, again)), catalogue())
    assert [bool(line.warm_up) for line in twice.lines] == [True, has_own_time(first)]


def test_a_band_is_no_load_to_search_in_steps() -> None:
    """The anti-rotation press takes a cable or a band; who has bands alone is told no kilograms."""
    at_home = dataclasses.replace(
        request("tue sat", 60, kit=("band",), aims=("obliques",)),
        pinned=(Pin("press_anti_rotation", "tue"),),
    )
    lines = [line for day in plan_week(at_home, catalogue()).sessions for line in day.lines]
    assert "press_anti_rotation" in {line.exercise for line in lines}
    assert [line.name for line in lines if "start with a load" in line.load_note] == []
    in_a_gym = dataclasses.replace(at_home, equipment=at_home.equipment | {"cable"})
    lines = [line for day in plan_week(in_a_gym, catalogue()).sessions for line in day.lines]
    press = next(line for line in lines if line.exercise == "press_anti_rotation")
    assert "start with a load" in press.load_note
