"""No change by hand moves what the screen says, what it takes away, or a floor; no flag makes one hold.

The laws are those of the screen (DEVELOPERS.md, the decision log); which lines may be changed is our
judgement, no source.
"""

import datetime as dt
import functools
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengths import at_length
from screening import DAY, knowledge
from screening_people import RED, Person, is_clear, people, with_red
from whole_plans import answers_of, whole_book

from assistant.model.case import Case, Override
from assistant.model.derivation import Run
from assistant.plan.build import Planner

# These are measures of the body, which move every figure, and not flags alone.
MEASURES = {"bmi", "goal_bmi", "energy_availability", "unplanned_loss_percent_6_months"}
RED_ONES = [(key, red) for key, reds in RED.items() if key not in MEASURES for red in reds]
MUSCLES = ("lats", "glute_max", "quads", "chest")


@functools.cache
def planner() -> Planner:
    return Planner(knowledge(), DAY, whole_book(), "clips")


@st.composite
def changes(draw: st.DrawFn) -> tuple[Override, ...]:
    """A few changes of lines, sensible and wild."""
    numbers = {
        "food.target": (1200, 3200), "food.protein": (40, 260), "food.fat": (20, 160),
        "food.carbohydrate": (50, 600), "recovery.sleep": (5, 11), "training.session_cap": (1, 14),
        "training.effort_compound": (0, 5), "training.effort_isolation": (0, 5),
        "training.block": (2, 8), "training.dose": (0, 26),
    }  # fmt: skip
    lines = draw(st.lists(st.sampled_from(sorted(numbers)), min_size=1, max_size=4, unique=True))
    made = []
    for line in lines:
        name = f"{line}[{draw(st.sampled_from(MUSCLES))}]" if line == "training.dose" else line
        made.append(Override(name, float(draw(st.integers(*numbers[line]))), "coach", "why", DAY))
    if draw(st.booleans()):
        day = DAY + dt.timedelta(days=draw(st.integers(-3, 60)))
        made.append(Override("review.date", day.isoformat(), "coach", "why", DAY))
    return tuple(made)


def run(person: Person, overrides: tuple[Override, ...], more: Mapping[str, Any]) -> Run:
    answers = answers_of(*person, more)
    return planner().run(Case("", DAY, answers, overrides=overrides))


def guarded(found: Run) -> dict[str, Any]:
    """What no hand may move: flags, referrals, what is withheld, limits, every floor and ceiling."""
    kept = ("screen.", "plan.left_out", "training.limits", "training.resting", "fat_loss.",
            "energy.floor", "energy.maintenance", "dose.ceiling", "dose.floor", "block.shortest",
            "block.longest")  # fmt: skip
    return {key: fact.value for key, fact in found.facts.items() if key.startswith(kept)}


MORE = {"client.goal_weight_kg": "none"}


def nothing_of_the_screen_moves(person: Person, made: tuple[Override, ...]) -> None:
    plain, changed = run(person, (), MORE), run(person, made, MORE)
    assert guarded(changed) == guarded(plain)
    assert changed.facts.keys() == plain.facts.keys()
    floor = plain.facts.get("energy.floor_kcal_per_day")
    target = changed.facts.get("energy.target_kcal_per_day")
    if target is not None and target.ruled is not None:
        assert floor is not None
        assert target.value >= floor.value
    if plain.facts["screen.level"].value == "stop":
        assert not changed.by_hand


def no_flag_makes_one_hold(person: Person, made: tuple[Override, ...], key: str, red: Any) -> None:
    if not is_clear(person, key):
        return
    before, after = run(person, made, MORE), run(with_red(person, key, red), made, MORE)
    assert after.by_hand.keys() <= before.by_hand.keys(), before.set_aside


@settings(max_examples=12, deadline=None)
@given(person=people(), made=changes())
def test_a_change_by_hand_never_moves_what_the_screen_says(
    person: Person, made: tuple[Override, ...]
) -> None:
    nothing_of_the_screen_moves(person, made)


@settings(max_examples=12, deadline=None)
@given(person=people(most=2), made=changes(), red=st.sampled_from(RED_ONES))
def test_a_red_flag_never_makes_a_change_hold(
    person: Person, made: tuple[Override, ...], red: tuple[str, Any]
) -> None:
    no_flag_makes_one_hold(person, made, *red)


@pytest.mark.slow
@settings(max_examples=at_length(3000, in_ci=300), deadline=None)
@given(person=people(), made=changes())
def test_a_change_by_hand_never_moves_what_the_screen_says_at_length(
    person: Person, made: tuple[Override, ...]
) -> None:
    nothing_of_the_screen_moves(person, made)


@pytest.mark.slow
@settings(max_examples=at_length(3000, in_ci=300), deadline=None)
@given(person=people(most=2), made=changes(), red=st.sampled_from(RED_ONES))
def test_a_red_flag_never_makes_a_change_hold_at_length(
    person: Person, made: tuple[Override, ...], red: tuple[str, Any]
) -> None:
    no_flag_makes_one_hold(person, made, *red)
