"""Nobody meets what they have not said they can do, and who has trained before trains with a load where there is one.

Outside source: none; an experienced coach who read ten weeks would not sign them for these two.
"""

from __future__ import annotations

import dataclasses

import pytest

from assistant.model.values import Status
from assistant.programme.pool import build_pool
from assistant.programme.request import Pin, ProgrammeRequest
from assistant.programme.week import plan_week
from programme.checker import (
    MOST_REPETITIONS,
    NEEDED,
    Entry,
    entries,
    load_faults,
    programme_faults,
    violations,
)
from programme.clients import request
from programme.documents import book, catalogue, pattern_rows, rows, setting
from programme.flagged_people import client

EVERYTHING = frozenset(catalogue().abilities)
FIGURES = {"Five": 5, "Eight": 8, "Ten": 10}


def _asked(*can_do: str, kit: str = "full_gym", **more: object) -> ProgrammeRequest:
    return dataclasses.replace(
        request("mon wed fri", 60, kit=(kit,)), abilities=frozenset(can_do), **more
    )


def test_silence_counts_as_cannot_and_says_so() -> None:
    pool = build_pool(_asked(), catalogue())
    assert not NEEDED.keys() & pool.allowed.keys()
    why = {left.exercise: left.why for left in pool.ruled_out if left.cause == "ability"}
    assert why.keys() == NEEDED.keys()
    assert why["chin_up"] == "nobody has said that pull-ups or chin-ups can be done"
    assert {"push_up_incline", "pull_up_assisted_machine", "leg_curl_slider"} <= pool.allowed.keys()


@pytest.mark.parametrize("ability", sorted(EVERYTHING))
def test_what_can_be_done_opens_its_own_exercises_and_no_others(ability: str) -> None:
    opened = build_pool(_asked(ability), catalogue()).allowed.keys()
    more = opened - build_pool(_asked(), catalogue()).allowed.keys()
    assert more == {exercise for exercise, needed in NEEDED.items() if needed == ability}


@pytest.mark.parametrize("silence", [Status.UNKNOWN, Status.DECLINED, Status.NONE])
def test_an_answer_that_is_not_given_opens_nothing(silence: Status) -> None:
    for said, abilities in ((silence, set()), (("pull_up",), {"pull_up"})):
        asked = client({"client.can_do": said}).request()
        assert asked is not None
        assert asked.abilities == abilities


def test_the_question_names_as_many_as_the_plan_prints_with_some_in_reserve() -> None:
    labels = next(each for each in book().questions if each.fact == "client.can_do").labels
    assert labels.keys() == EVERYTHING == set(book().facts["client.can_do"].choices)
    reserve = setting("loads", "spared_lifts_rir_at_least")
    for exercise, ability in NEEDED.items():
        row = rows()[exercise]
        low = (row.get("repetitions") or setting("zones", "repetitions")[row["rep_zones"][0]])[0]
        assert FIGURES[labels[ability].split()[0]] >= low + reserve, exercise


@pytest.mark.parametrize("kit", ["full_gym", "none"])
@pytest.mark.parametrize("can_do", [(), tuple(sorted(EVERYTHING))])
@pytest.mark.parametrize("level", ["novice", "intermediate", "advanced"])
def test_weeks_hold_to_both(kit: str, can_do: tuple[str, ...], level: str) -> None:
    asked = dataclasses.replace(
        request("mon wed fri", 60, kit=(kit,), level=level), abilities=frozenset(can_do)
    )
    programme = plan_week(asked, catalogue(), try_remedies=False)
    assert programme_faults(programme, asked) == []


def test_very_hard_body_weight_work_is_done_a_few_times() -> None:
    names = tuple(MOST_REPETITIONS)
    pins = tuple(Pin(name) for name in names)
    asked = _asked(*EVERYTHING, training_level="advanced", pinned=pins)
    programme = plan_week(asked, catalogue(), try_remedies=False)
    printed = {
        line.exercise: (line.low, line.high)
        for session in programme.sessions
        for line in session.lines
        if line.exercise in MOST_REPETITIONS
    }
    assert printed == {name: (3, 6) if name == "nordic_lower" else (5, 10) for name in names}
    assert programme_faults(programme, asked) == []


def test_body_weight_gives_way_to_a_load_for_who_has_trained_before() -> None:
    pool = build_pool(_asked(*EVERYTHING), catalogue())
    told = {name: left.why for name, left in pool.outloaded.items()}
    assert {"push_up", "squat_bodyweight", "bridge_bodyweight", "reverse_nordic"} <= told.keys()
    assert told["push_up"].endswith(" does the same work and can be loaded in steps")
    assert told.keys() <= pool.allowed.keys()
    assert not told.keys() & {candidate.exercise.id for candidate in pool.chosen}
    for name, left in pool.outloaded.items():
        assert pattern_rows()[rows()[name]["pattern"]]["kind"] != "trunk"
        assert rows()[left.chosen_instead]["loadability"] > 1


@pytest.mark.parametrize(
    "asked",
    [
        _asked("push_up", training_level="novice"),
        _asked("push_up", liked=frozenset({"push_up"})),
        _asked("push_up", previous_exercises=frozenset({"push_up"})),
        _asked("push_up", kit="none"),
        _asked("push_up", kit="bands_home"),
    ],
    ids=["beginner", "liked", "runs already", "no kit", "bands alone"],
)
def test_body_weight_stays_where_it_should(asked: ProgrammeRequest) -> None:
    assert "push_up" not in build_pool(asked, catalogue()).outloaded
    assert load_faults([Entry("mon", "push_up", 3, "moderate")], asked) == []


def test_a_load_that_strains_a_joint_more_takes_no_place() -> None:
    eased = _asked(eased_joints=frozenset({"hip"}))
    assert "step_up_low" in build_pool(_asked(), catalogue()).outloaded
    for name, left in build_pool(eased, catalogue()).outloaded.items():
        strains = set(rows()[left.chosen_instead]["joint_stress"]) - set(
            rows()[name]["joint_stress"]
        )
        assert "hip" not in strains, name


def test_the_checker_sees_both() -> None:
    types = dict.fromkeys(("mon", "wed", "fri"), "full")
    pushed = [Entry("mon", "push_up", 3, "moderate")]
    told = "push_up, though nobody has said that it can be done"
    assert told in violations(pushed, _asked(), types)
    assert told not in violations(pushed, _asked("push_up"), types)
    assert any("can be loaded" in fault for fault in load_faults(pushed, _asked("push_up")))


def test_the_week_says_which_load_takes_the_place() -> None:
    asked = _asked(*EVERYTHING)
    programme = plan_week(asked, catalogue(), try_remedies=False)
    assert "push_up" not in {entry.exercise for entry in entries(programme)}
    left = next(item for item in programme.not_chosen if item.exercise == "push_up")
    assert left.cause == "loadability"
    assert left.why.startswith(rows()[left.chosen_instead]["name"])


def test_a_pull_that_nobody_has_spoken_of_is_asked_for_not_laid_on_the_kit() -> None:
    asked = request("tue sat", 60, kit=("dumbbell", "pull_up_bar"), aims=("lats",))
    reasons = [gap.why for gap in plan_week(asked, catalogue(), try_remedies=False).unmet]
    said = "no pull from above can be done while nobody has said that pull-ups or chin-ups go well"
    assert said in reasons
    able = dataclasses.replace(asked, abilities=frozenset({"pull_up"}))
    reasons = [gap.why for gap in plan_week(able, catalogue(), try_remedies=False).unmet]
    assert not [why for why in reasons if "pull from above" in why]
    bare = dataclasses.replace(asked, equipment=frozenset({"bodyweight", "dumbbell"}))
    reasons = [gap.why for gap in plan_week(bare, catalogue(), try_remedies=False).unmet]
    assert "no pull from above can be done with this kit and these joints" in reasons


def test_a_session_full_of_exercises_does_not_blame_the_minutes() -> None:
    aims = ("glute_max", "glute_med_min", "lats", "side_delts")
    asked = request("tue sat", 72, kit=("dumbbell", "bench"), aims=aims)
    week = plan_week(asked, catalogue(), try_remedies=False)
    assert {len(session.lines) for session in week.sessions} == {8}
    assert max(each.minutes_allowed - each.minutes for each in week.sessions) >= 4
    reasons = [gap.why for gap in week.unmet if gap.kind in ("low", "target", "floor")]
    assert [why for why in reasons if "hold no more exercises" in why]
    assert not [why for why in reasons if "the minutes" in why]
