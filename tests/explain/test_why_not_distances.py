"""The distances that why-not claims, against brute force.

The outside judge is `assistant.engine.judge`, which reads one rule over given facts and knows nothing
of distances: every value on the way is tried, and dropped clauses are dropped one by one.
"""

from collections.abc import Callable, Iterator

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.engine import judge
from assistant.explain.gaps import Gap, step_of
from assistant.explain.why_not import Asked, Missed, why_not
from assistant.model.case import Case
from assistant.model.derivation import Run, Verdict
from assistant.model.errors import EngineFault
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value
from assistant.plan import Planner

MORE = pytest.mark.slow
People = Callable[[int, int], list[Case]]


def _all_missed(planner: Planner, run: Run) -> list[Missed]:
    keys = tuple(
        conclusion.key for bound in planner.compiled.rules for conclusion in bound.conclusions
    )
    return why_not(planner.compiled, run, CALCULATORS, Asked(keys=tuple(dict.fromkeys(keys))))


def _verdict(
    planner: Planner,
    run: Run,
    missed: Missed,
    change: dict[str, Value],
    dropped: tuple[str, ...] = (),
) -> Verdict:
    bound = missed.bound
    given = {key: fact.value for key, fact in run.facts.items()} | change
    ranges = {key: (fact.low, fact.high) for key, fact in run.facts.items()}
    try:
        return judge(
            bound.rule, bound.element, given, planner.kb, planner.on, CALCULATORS,
            ranges=ranges, dropped=dropped,
        ).verdict  # fmt: skip
    except EngineFault:
        # Only a rule that fired calculates; a dropped clause may have kept its calculator safe.
        if not dropped:
            raise
        return Verdict.FIRED


def _tried(kb: KnowledgeBase, gap: Gap) -> Iterator[tuple[float, Value]]:
    """Yield other values of the fact with their distance, the nearest first."""
    fact = kb.facts[gap.clause.subjects[0].fact_id]
    have = gap.reading.have
    if fact.type is FactType.CHOICE:
        order = gap.clause.subjects[0].order
        here = order.index(str(have))
        ranked = sorted((abs(n - here), choice) for n, choice in enumerate(order) if n != here)
        yield from ((float(distance), choice) for distance, choice in ranked)
        return
    assert isinstance(have, float)
    step, number = step_of(fact), 1
    while number * step <= gap.distance + 1.5 * step:  # type: ignore[operator]
        for sign in (1, -1):
            yield number * step, round(have + sign * number * step, 9)
        number += 1


def _measured(missed: Missed) -> Gap | None:
    """Return the one thing in the way, if it is one fact with a distance."""
    if len(missed.obstacles) != 1 or len(missed.obstacles[0]) != 1:
        return None
    (gap,) = missed.obstacles[0]
    plain = not gap.clause.counting and len(list(gap.clause.facts_read())) == 1
    is_measured = gap.distance is not None and gap.reach is not None
    return gap if plain and is_measured and isinstance(gap.reading.have, float | str) else None


def _on_grid(gap: Gap, step: float) -> bool:
    """Tell whether a figure stands on the steps people speak of, so that steps can be counted."""
    return all(
        abs(float(value) / step - round(float(value) / step)) < 1e-6
        for value in (gap.reading.have, gap.reading.want)
        if isinstance(value, float)
    )


@pytest.mark.parametrize(("seed", "number"), [(11, 4), pytest.param(21, 40, marks=MORE)])
def test_the_nearest_value_fires_the_rule_and_no_nearer_one_does(
    planner: Planner, people: People, seed: int, number: int
) -> None:
    checked = set()
    for person in people(seed, number):
        run = planner.run(person)
        for missed in _all_missed(planner, run):
            gap = _measured(missed)
            if gap is None or (missed.bound.rule.id, gap.needed, gap.distance) in checked:
                continue
            key = gap.clause.subjects[0].key
            fact = planner.kb.facts[gap.clause.subjects[0].fact_id]
            if fact.type is FactType.NUMBER and not _on_grid(gap, step_of(fact)):
                assert _verdict(planner, run, missed, {key: gap.reach}) is Verdict.FIRED  # type: ignore[dict-item]
                continue
            assert _verdict(planner, run, missed, {key: gap.reach}) is Verdict.FIRED  # type: ignore[dict-item]
            for distance, value in _tried(planner.kb, gap):
                if distance < gap.distance - 1e-9:  # type: ignore[operator]
                    assert _verdict(planner, run, missed, {key: value}) is not Verdict.FIRED
            checked.add((missed.bound.rule.id, gap.needed, gap.distance))
    assert len(checked) > 15
    assert len({needed for _, needed, _ in checked}) >= 4


@pytest.mark.parametrize(("seed", "number"), [(12, 5), pytest.param(22, 40, marks=MORE)])
def test_a_line_that_must_be_reached_is_not_met_just_before_it(
    planner: Planner, people: People, seed: int, number: int
) -> None:
    """Derived figures stand between steps: there the claim is held against the line itself."""
    checked = 0
    for person in people(seed, number):
        run = planner.run(person)
        for missed in _all_missed(planner, run):
            gap = _measured(missed)
            if gap is None or gap.needed not in {"at_least", "at_most"}:
                continue
            if not isinstance(gap.reading.have, float) or not isinstance(gap.reach, float):
                continue
            fact = planner.kb.facts[gap.clause.subjects[0].fact_id]
            if step_of(fact) >= 1:
                continue
            short = gap.reach + (gap.reading.have - gap.reach) * 1e-6
            key = gap.clause.subjects[0].key
            assert _verdict(planner, run, missed, {key: short}) is not Verdict.FIRED
            assert gap.distance == pytest.approx(abs(gap.reading.have - gap.reach))
            checked += 1
    assert checked > 4


@pytest.mark.parametrize(("seed", "number"), [(13, 3), pytest.param(23, 12, marks=MORE)])
def test_the_clauses_at_fault_are_all_of_them_and_no_more(
    planner: Planner, people: People, seed: int, number: int
) -> None:
    """Without them the rule fires; with any one of them left in it does not."""
    checked = 0
    for person in people(seed, number):
        run = planner.run(person)
        for missed in _all_missed(planner, run)[::7]:
            addresses = [_address(obstacle[0]) for obstacle in missed.obstacles]
            if not addresses or any(a.startswith(("then", "for_each")) for a in addresses):
                continue
            if any(len(obstacle) > 1 for obstacle in missed.obstacles):
                addresses = [a.partition(".any_of")[0] for a in addresses]
            assert _verdict(planner, run, missed, {}, tuple(addresses)) is Verdict.FIRED
            for kept in addresses:
                rest = tuple(each for each in addresses if each != kept)
                assert _verdict(planner, run, missed, {}, rest) is not Verdict.FIRED
            checked += 1
    assert checked > 150


def _address(gap: Gap) -> str:
    return gap.clause.address.partition(".any_of")[0]


def test_order_is_fewest_clauses_then_smallest_distance(planner: Planner, people: People) -> None:
    for person in people(14, 5):
        run = planner.run(person)
        for key in ("energy.surplus_kcal_per_day", "week.structure", "block.rotate_now"):
            missed = why_not(planner.compiled, run, CALCULATORS, Asked(keys=(key,)))
            failing = [m for m in missed if m.obstacles]
            ranks = [(len(m.obstacles), sum(o[0].relative for o in m.obstacles)) for m in failing]
            assert ranks == sorted(ranks)
            assert all(0 <= o[0].relative <= 1 for m in failing for o in m.obstacles)


def test_every_rule_that_did_not_decide_is_accounted_for(planner: Planner, people: People) -> None:
    """Each rule about a fact either decided it or is listed, once."""
    for person in people(15, 5):
        run = planner.run(person)
        for key in ("protein.base", "dose.sessions_per_week[lats]", "screen.level"):
            about = [b for b in planner.compiled.rules if key in {c.key for c in b.conclusions}]
            missed = why_not(planner.compiled, run, CALCULATORS, Asked(keys=(key,)))
            deciders = run.facts[key].derivations if key in run.facts else ()
            assert len(about) == len(missed) + len(deciders)
