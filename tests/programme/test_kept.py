"""A kept week comes back as it was solved, in milliseconds, or says what stands against it."""

from __future__ import annotations

import dataclasses
import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from assistant.model.kept import KeptLine, KeptWeek, Misfit, read_kept
from assistant.model.programme import Programme
from assistant.programme.kept import as_kept, kept_of
from assistant.programme.week import plan_week
from programme.cases import CASES, asked_of
from programme.documents import catalogue
from programme.weeks import harrow_lane_request, harrow_lane_week


def _back(kept: KeptWeek, **changed: Any) -> Programme | Misfit:
    return as_kept(kept, dataclasses.replace(harrow_lane_request(), **changed), catalogue())


def _kept() -> KeptWeek:
    return kept_of(harrow_lane_week(), harrow_lane_request())


def _why(back: Programme | Misfit) -> dict[tuple[str, str], str]:
    assert isinstance(back, Misfit)
    return {(line.day, line.exercise): line.why for line in back.lines}


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_kept_week_comes_back_as_it_was_solved(path: Path) -> None:
    asked, held = asked_of(path)
    if asked is None:
        assert path.stem == "stop_today"
        return
    programme = plan_week(asked, held, try_remedies=False)
    kept = kept_of(programme, asked)
    written = json.loads(json.dumps(kept.as_written()))
    assert read_kept(written) == kept
    back = as_kept(kept, asked, held)
    assert back == dataclasses.replace(programme, phases=())
    assert programme.sessions


def test_it_is_brought_back_in_milliseconds() -> None:
    spent = []
    for _ in range(5):
        began = time.process_time()
        assert isinstance(_back(_kept()), Programme)
        spent.append(time.process_time() - began)
    assert min(spent) < 0.05


def test_the_solver_is_not_even_loaded() -> None:
    code = "import sys, assistant.programme.kept; sys.exit('ortools' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_it_comes_back_in_the_style_it_was_kept_in() -> None:
    light = dataclasses.replace(_kept(), style="light")
    back = _back(light, minutes_per_session=75, short_minutes=40)
    assert isinstance(back, Programme)
    pairs = zip(_zones(back), _zones(harrow_lane_week()), strict=True)
    assert {("light", "moderate")} <= set(pairs)


def _zones(programme: Programme) -> list[str]:
    return [line.zone for session in programme.sessions for line in session.lines]


def test_the_order_of_the_day_is_kept() -> None:
    kept = _kept()
    turned = {**kept.days, "mon": tuple(reversed(kept.days["mon"]))}
    back = _back(dataclasses.replace(kept, days=turned))
    assert isinstance(back, Programme)
    assert [line.exercise for line in back.sessions[0].lines] == [
        line.exercise for line in turned["mon"]
    ]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"sore_joints": frozenset({"knee"})}, "loads the sore knee"),
        ({"equipment": frozenset({"bodyweight", "dumbbell"})}, "needs"),
        ({"limits": frozenset({"on_feet"})}, catalogue().limits["on_feet"].say),
    ],
)
def test_a_line_that_may_not_stand_is_named(changed: dict[str, Any], says: str) -> None:
    kept = _kept()
    why = _why(_back(kept, **changed))
    lines = {(day, line.exercise) for day, listed in kept.days.items() for line in listed}
    assert why.keys() <= lines
    assert any(says in text for text in why.values())


def test_a_day_that_is_lost_or_too_short_is_named() -> None:
    types = {"mon": "full", "thu": "full", "sat": "full"}
    assert _why(_back(_kept(), day_types=types))["tue", ""] == "tue is no training day any more"
    assert "of 45 minutes" in _why(_back(_kept(), minutes_on={"thu": 45}))["thu", ""]
    other = {**harrow_lane_request().day_types, "mon": "upper"}
    assert any(
        "does not suit the type of the day (upper)" in w
        for w in _why(_back(_kept(), day_types=other)).values()
    )


def test_a_dose_that_has_shrunk_is_named() -> None:
    asked = harrow_lane_request()
    less = {
        name: aim._replace(target=1, low=1, ceiling=1) for name, aim in asked.target_sets.items()
    }
    assert any("are the most" in why for why in _why(_back(_kept(), target_sets=less)).values())
    small = asked.session_cap_sets._replace(soft=1, hard=2)
    assert any(
        "the most a session" in w for w in _why(_back(_kept(), session_cap_sets=small)).values()
    )


def test_what_the_rule_book_lost_and_what_was_never_kept_are_named() -> None:
    gone = KeptWeek("moderate", {"mon": (KeptLine("old_lift", 3),)})
    assert "no exercise of the rule book" in _why(_back(gone))["mon", "old_lift"]
    assert _why(_back(KeptWeek("moderate"))) == {("", ""): "no session was kept"}


def test_where_nothing_may_be_trained_it_says_what_a_solve_says() -> None:
    asked = harrow_lane_request(limits=frozenset({"sessions"}))
    assert as_kept(_kept(), asked, catalogue()) == plan_week(asked, catalogue())


@pytest.mark.parametrize(
    "plain",
    [
        None,
        {"style": "moderate"},
        {"style": 3, "days": {}},
        {"style": "moderate", "days": {}, "more": 1},
        {"style": "moderate", "days": {"someday": []}},
        {"style": "moderate", "days": {"mon": [["thrust_machine", 0]]}},
        {"style": "moderate", "days": {"mon": [["thrust_machine", True]]}},
        {"style": "moderate", "days": {"mon": "thrust_machine"}},
    ],
)
def test_what_is_no_kept_week_is_refused(plain: Any) -> None:
    with pytest.raises(ValueError, match="kept week"):
        read_kept(plain)
