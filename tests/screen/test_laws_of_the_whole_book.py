"""The same laws over the whole book: no figure and no session comes back, and no decision lifts a stop.

Laws, not figures of ours: they follow from what a withheld output is (the fact's `reveals`), and
they are held on both engines where durable_rules is installed.
"""

import functools
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lengths import at_length
from screening import DAY, LEVELS, case_answers, checked, knowledge, outcome_of
from screening_people import MOOT, RED, SILENCE, Person, is_clear, people, with_red
from test_laws import ASKED, RED_ONES
from test_no_deficit import FOOD

from assistant.calculate.registry import CALCULATORS
from assistant.engine import CompiledBook, compile_knowledge, durable, run_engine
from assistant.engine.run import EngineChoice
from assistant.model.derivation import Run
from assistant.model.values import Value, split_key
from assistant.plan.clearances import Clearances

ENGINES: EngineChoice = "both" if durable.importable() else "clips"
TRAINS = {
    "client.available_days": ["mon", "tue", "thu", "sat"],
    "client.shape_goal": "hourglass",
    "client.waist_cm": 75.0,
    "client.hip_cm": 99.0,
    "client.sleep_hours": 8,
}


@functools.cache
def whole_book() -> CompiledBook:
    return compile_knowledge(knowledge(), DAY)


def run_whole(person: Person, decided: Mapping[str, Value] | None = None) -> Run:
    base, changes = person
    answers = checked(case_answers(base, changes) | FOOD | TRAINS)
    given_facts = {**answers, **(decided or {})}
    return run_engine(whole_book(), given_facts, DAY, ENGINES, CALCULATORS)


def concluded_figures(run: Run) -> set[str]:
    """Return the keys of all figures of body, food and dose that the rules conclude.

    What is withheld must not be concluded at all; hiding it in print would not be enough. A nought
    gives nothing: no surplus, no sets. So a red flag may bring one, and may not make it more.
    """
    declared = knowledge().facts
    return {
        key
        for key, fact in run.facts.items()
        if isinstance(fact.value, float)
        and fact.value != 0
        and declared[split_key(key)[0]].origin == "derived"
        and (declared[split_key(key)[0]].reveals or key.startswith("dose."))
        and not key.startswith("screen.")
    }


def allows_hard_sets(run: Run) -> bool:
    """Tell whether some lift may end with fewer than four repetitions left."""
    fact = run.facts.get("effort.compound_reps_in_reserve")
    return fact is not None and isinstance(fact.value, float) and fact.value < 4


def gives_nothing_back(before: Run, after: Run) -> None:
    assert outcome_of(after).is_at_least_as_careful_as(outcome_of(before))
    assert concluded_figures(after) <= concluded_figures(before)
    assert allows_hard_sets(before) or not allows_hard_sets(after)


def red_gives_nothing_back(person: Person, key: str, red: Any) -> None:
    base, changes = person
    person = base, {**changes, **MOOT.get(key, {})}
    assume(is_clear(person, key) or key in MOOT.get(key, {}))
    gives_nothing_back(run_whole(person), run_whole(with_red(person, key, red)))


def silence_gives_nothing_back(person: Person, key: str, silence: str) -> None:
    assume(is_clear(person, key))
    base, changes = person
    gives_nothing_back(run_whole(person), run_whole((base, {**changes, key: silence})))


@settings(max_examples=12, deadline=None)
@given(person=people(), red=st.sampled_from(RED_ONES))
def test_red_adds_no_figure_and_no_session(person: Person, red: tuple[str, Any]) -> None:
    red_gives_nothing_back(person, *red)


@settings(max_examples=12, deadline=None)
@given(person=people(), key=st.sampled_from(ASKED), silence=st.sampled_from(SILENCE))
def test_silence_adds_no_figure_and_no_session(person: Person, key: str, silence: str) -> None:
    silence_gives_nothing_back(person, key, silence)


@pytest.mark.slow
@settings(max_examples=at_length(1000, in_ci=150), deadline=None)
@given(person=people(most=12), red=st.sampled_from(RED_ONES))
def test_red_adds_nothing_at_length(person: Person, red: tuple[str, Any]) -> None:
    red_gives_nothing_back(person, *red)


@pytest.mark.slow
@settings(max_examples=at_length(1000, in_ci=150), deadline=None)
@given(person=people(most=12), key=st.sampled_from(ASKED), silence=st.sampled_from(SILENCE))
def test_silence_adds_nothing_at_length(person: Person, key: str, silence: str) -> None:
    silence_gives_nothing_back(person, key, silence)


def test_the_laws_have_something_to_hold() -> None:
    """A clear person has figures and hard sets to lose; otherwise the laws would prove nothing."""
    clear = run_whole(("woman", {"goal": "lose_fat", "bmi": 27}))
    assert {"energy.target_kcal_per_day", "protein.g_per_day", "body.waist_to_hip"} <= (
        concluded_figures(clear)
    )
    assert allows_hard_sets(clear)
    flagged = run_whole(("woman", {"goal": "lose_fat", "bmi": 27, "pregnant": True}))
    assert not concluded_figures(flagged) & {"energy.target_kcal_per_day", "protein.g_per_day"}
    assert not allows_hard_sets(flagged)


STOPS = [(key, RED[key][-1]) for key in ("symptom_now", "new_weakness", "self_harm_thoughts")]


def no_decision_lifts_a_stop(person: Person, stop: tuple[str, Any], decided: Any) -> None:
    """Any flags at all are set aside and cleared, past the reader of case files."""
    stopped = with_red(person, *stop)
    flags = st.lists(st.sampled_from(knowledge().book.domains["flag"]), unique=True)
    decisions: dict[str, Value] = {
        "context.set_aside_flags": tuple(sorted(decided.draw(flags))),
        "context.cleared_flags": tuple(sorted(decided.draw(flags))),
    }
    before, after = outcome_of(run_whole(stopped)), outcome_of(run_whole(stopped, decisions))
    assert after.level == before.level == "stop"
    assert after.withheld == before.withheld


@settings(max_examples=12, deadline=None)
@given(person=people(), stop=st.sampled_from(STOPS), decided=st.data())
def test_no_decision_lifts_a_stop(person: Person, stop: tuple[str, Any], decided: Any) -> None:
    no_decision_lifts_a_stop(person, stop, decided)


@pytest.mark.slow
@settings(max_examples=at_length(1000, in_ci=60), deadline=None)
@given(person=people(most=12), stop=st.sampled_from(STOPS), decided=st.data())
def test_no_decision_lifts_a_stop_at_length(
    person: Person, stop: tuple[str, Any], decided: Any
) -> None:
    no_decision_lifts_a_stop(person, stop, decided)


CLEARABLE = tuple(sorted(f for f, flag in knowledge().flags.items() if flag.cleared is not None))


def resolved(person: Person, flags: tuple[str, ...]) -> Person:
    """Return the person without what these flags rest on: the answers are those of the base."""
    base, changes = person
    clearances = Clearances(knowledge(), {}, DAY)
    gone = {fact.partition(".")[2] for flag in flags for fact in clearances.answers_of(flag)}
    gone |= {"bmi"} if "weight_kg" in gone else set()
    return base, {key: value for key, value in changes.items() if key not in gone}


def clearing_is_no_better_than_resolving(person: Person, flags: tuple[str, ...]) -> None:
    """A cleared sign leaves at least what a person has who never had it."""
    cleared = run_whole(person, {"context.cleared_flags": flags})
    without = run_whole(resolved(person, flags))
    after, before = outcome_of(cleared), outcome_of(without)
    assert LEVELS.index(after.level) >= LEVELS.index(before.level)
    assert after.withheld >= before.withheld
    assert allows_hard_sets(without) or not allows_hard_sets(cleared)


clearable = st.lists(st.sampled_from(CLEARABLE), min_size=1, unique=True).map(
    lambda flags: tuple(sorted(flags))
)


@settings(max_examples=12, deadline=None)
@given(person=people(), flags=clearable)
def test_a_cleared_sign_leaves_no_less_than_a_resolved_one(
    person: Person, flags: tuple[str, ...]
) -> None:
    clearing_is_no_better_than_resolving(person, flags)


@pytest.mark.slow
@settings(max_examples=at_length(2000, in_ci=100), deadline=None)
@given(person=people(most=12), flags=clearable)
def test_a_cleared_sign_leaves_no_less_at_length(person: Person, flags: tuple[str, ...]) -> None:
    clearing_is_no_better_than_resolving(person, flags)


def test_the_law_of_clearing_has_something_to_hold() -> None:
    """Cleared palpitations of somebody inactive with a heart condition must not open a session."""
    person = (
        "man",
        {"symptom_recent": ["palpitations"], "disease": ["heart"], "active_last_3_months": False},
    )
    cleared = outcome_of(run_whole(person, {"context.cleared_flags": ("symptom_recent",)}))
    without = outcome_of(run_whole(resolved(person, ("symptom_recent",))))
    assert "exercise_any" in without.withheld
    assert "exercise_any" in cleared.withheld
