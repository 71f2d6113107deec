"""When two rules may set one fact: the proofs that are accepted, and those that are not.

Outside check: for two clauses on one fact, a proof must never be wrong. That is tried by putting
values into both (the meaning of each operator written out here, in Python's own comparisons).
"""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.knowledge.checks.disjoint import can_not_both_hold
from assistant.model.errors import InputProblems

Edit = Callable[[str, str, str], int]
LINES = {"low": (2.0, 3.0), "high": (4.0, 4.0)}
COMPARE: dict[str, Callable[[Any, Any], bool]] = {
    "at_least": lambda have, want: have >= want,
    "at_most": lambda have, want: have <= want,
    "more_than": lambda have, want: have > want,
    "less_than": lambda have, want: have < want,
    "equals": lambda have, want: have == want,
    "is_not": lambda have, want: have != want,
    "one_of": lambda have, want: have in want,
    "has": lambda have, want: want in have,
    "lacks": lambda have, want: want not in have,
}

NUMBERS = st.tuples(
    st.sampled_from(["at_least", "at_most", "more_than", "less_than", "equals", "is_not"]),
    st.sampled_from([0, 1, {"param": "low"}, {"param": "high"}]),
)
CHOICES = st.one_of(
    st.tuples(st.sampled_from(["equals", "is_not"]), st.sampled_from("abc")),
    st.tuples(st.just("one_of"), st.lists(st.sampled_from("abc"), min_size=1, unique=True)),
)
LISTS = st.tuples(st.sampled_from(["has", "lacks"]), st.sampled_from("ab"))


def _holds(clause: tuple[str, Any], have: Any, values: dict[str, float]) -> bool:
    operator, want = clause
    number = values[want["param"]] if isinstance(want, dict) else want
    return COMPARE[operator](have, number)


@given(NUMBERS, NUMBERS)
@settings(max_examples=300, deadline=None)
def test_a_proof_about_numbers_holds_for_every_number(
    one: tuple[str, Any], other: tuple[str, Any]
) -> None:
    clauses = [{"fact": "f.f", operator: want} for operator, want in (one, other)]
    if not can_not_both_hold(clauses[0], clauses[1], LINES):
        return
    for low in (2.0, 2.5, 3.0):
        values = {"low": low, "high": 4.0}
        for have in (-1, 0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5):
            assert not (_holds(one, have, values) and _holds(other, have, values))


@given(st.tuples(CHOICES, CHOICES) | st.tuples(LISTS, LISTS))
@settings(max_examples=300, deadline=None)
def test_a_proof_about_choices_holds_for_every_choice(
    pair: tuple[tuple[str, Any], tuple[str, Any]],
) -> None:
    one, other = pair
    clauses = [{"fact": "f.f", operator: want} for operator, want in pair]
    is_list = one[0] in {"has", "lacks"}
    values = [set(), {"a"}, {"b"}, {"a", "b"}] if is_list else list("abcd")
    both = [v for v in values if _holds(one, v, {}) and _holds(other, v, {})]
    # With nothing but literals the proof is not only right but complete.
    assert can_not_both_hold(clauses[0], clauses[1], {}) is (not both)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ({"status": "known"}, {"status": "unanswered"}, True),
        ({"status": "unanswered"}, {"status": "declined"}, False),
        ({"status": "none"}, {"at_least": 1}, True),
        ({"status": "known"}, {"at_least": 1}, False),
        ({"at_least": {"param": "high"}}, {"less_than": {"param": "high"}}, True),
        ({"at_least": {"param": "low"}}, {"less_than": {"param": "low"}}, True),
        ({"at_least": {"param": "low"}}, {"at_most": {"param": "low"}}, False),
        ({"at_least": {"param": "high"}}, {"less_than": {"param": "low"}}, True),
        ({"at_least": {"param": "low"}}, {"less_than": {"param": "high"}}, False),
        ({"equals": True}, {"equals": False}, True),
        ({"equals": True}, {"equals": 1}, False),
    ],
)
def test_pairs_on_one_fact(one: dict[str, Any], other: dict[str, Any], expected: bool) -> None:
    first, second = {"fact": "f.f", **one}, {"fact": "f.f", **other}
    assert can_not_both_hold(first, second, LINES) is expected
    assert can_not_both_hold(second, first, LINES) is expected
    assert not can_not_both_hold(first, {**second, "fact": "g.g"}, LINES)


VOL_1, VOL_2 = "dose/VOL-001.yaml", "dose/VOL-002.yaml"


def _is_conflict(load: Callable[..., object], **options: Any) -> bool:
    codes = set()
    try:
        load(**options)
    except InputProblems as error:
        codes = {problem.code for problem in error.problems}
    assert codes <= {"conflict"}
    return bool(codes)


def test_two_loops_meet_on_the_same_element(edit: Edit, load: Callable[..., object]) -> None:
    assert not _is_conflict(load)
    edit(VOL_2, "equals: priority", "status: known")
    assert _is_conflict(load)


def test_overrides_settles_a_conflict(edit: Edit, load: Callable[..., object]) -> None:
    edit(VOL_2, "equals: priority", "status: known")
    edit(VOL_2, "because:", "overrides: [VOL-001]\nbecause:")
    assert not _is_conflict(load)


def test_a_brake_of_one_that_the_other_needs_settles_it(
    edit: Edit, load: Callable[..., object]
) -> None:
    edit(VOL_2, "equals: priority", "status: known")
    edit(VOL_2, "unless:", "unless:\n  - {fact: dose.role, of: muscle, equals: typical}")
    assert not _is_conflict(load)


def test_dates_that_do_not_meet_settle_it(edit: Edit, load: Callable[..., object]) -> None:
    edit(VOL_2, "equals: priority", "status: known")
    edit(VOL_2, "because:", 'in_force_from: "2026-06-01"\nbecause:')
    assert _is_conflict(load)
    edit(VOL_1, "because:", 'in_force_until: "2026-05-31"\nbecause:')
    assert not _is_conflict(load)


def test_the_loop_over_a_list_excludes_what_the_list_lacks(
    edit: Edit, load: Callable[..., object]
) -> None:
    edit(VOL_2, "equals: priority", "status: known")
    edit(VOL_1, "when:", "when:\n  - {fact: client.priority_muscles, lacks: {loop: muscle}}")
    assert not _is_conflict(load)


def test_another_element_is_another_fact(edit: Edit, load: Callable[..., object]) -> None:
    edit(VOL_2, "for_each: {muscle: client.priority_muscles}\n", "")
    edit(VOL_2, "dose.role, of: muscle, equals: priority", "client.days, status: known")
    edit(VOL_2, "    of: muscle\n", "    of: chest\n")
    edit(VOL_2, "{muscle} comes first and gets {value} sets; its role is {dose.role}.", "{value}")
    edit(VOL_2, "  loop: lats\n", "")
    edit(
        VOL_2, 'given: {client.priority_muscles: [lats], "dose.role[lats]": priority, ', "given: {"
    )
    edit(VOL_2, '"dose.sets_per_week[lats]": 12', '"dose.sets_per_week[chest]": 12')
    edit(VOL_2, '{"dose.role[lats]": typical}, failed_at: dose.role', "{client.days: unknown}, "
         "needs: [client.days]")  # fmt: skip
    assert _is_conflict(load)  # the loop of VOL-001 comes to the chest too
    edit(VOL_1, "for_each: {muscle: muscle}\n", "")
    edit(VOL_1, "dose.role, of: muscle, equals: typical", "client.days, status: known")
    edit(VOL_1, "    of: muscle\n", "    of: quads\n")
    edit(VOL_1, "{muscle} gets {value}", "{value}")
    edit(VOL_1, "  loop: quads\n", "")
    edit(VOL_1, 'given: {"dose.role[quads]": typical, ', "given: {")
    edit(VOL_1, '{"dose.role[quads]": priority}, failed_at: dose.role', "{client.days: unknown}, "
         "needs: [client.days]")  # fmt: skip
    assert not _is_conflict(load)


def test_the_same_conclusion_twice_is_no_conflict(edit: Edit, load: Callable[..., object]) -> None:
    edit("tables/STY.yaml", "    style: long\n", "    style: short\n")
    edit("tables/STY.yaml", "    few: {param: days.many}\n", "    few: any\n")
    edit("tables/STY.yaml", "{dose.style: long,", "{dose.style: short,")
    edit("tables/STY.yaml", "      given: {client.days: 3, client.goal: gain}", "      given: "
         "{client.goal: gain}")  # fmt: skip
    edit("tables/STY.yaml", "        - {but: {client.days: 4}, failed_at: client.days}\n", "")
    edit("tables/STY.yaml", "; {client.days} days.", ".")
    assert not _is_conflict(load)


def test_a_rule_that_loops_may_not_set_a_single_fact_differently_each_time(
    edit: Edit, load: Callable[..., object]
) -> None:
    edit("dose/MUS-001.yaml", "{set: dose.role, of: muscle, to: typical}",
         "{set: dose.role, of: muscle, to: typical}\n  - {set: last.muscle, to: {loop: muscle}}")  # fmt: skip
    edit("facts/derived.yaml", "facts:\n", "facts:\n  - {id: last.muscle, label: last, type: choice,"
         " choice_domain: muscle, origin: derived}\n")  # fmt: skip
    assert _is_conflict(load)
