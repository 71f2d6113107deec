"""Flips against brute force: the claimed change does it, and nothing cheaper does.

The brute force is a plain double loop over declared steps with a whole engine run for each, written
here; it shares no code with the search, neither its fast pass nor its grouping of values.
"""

import dataclasses
import itertools
import math
import random
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.engine import compile_knowledge, run_engine
from assistant.engine.trial import Trial
from assistant.explain.flip import Search, find_flip
from assistant.explain.goals import read_goal
from assistant.model.case import Case
from assistant.model.clauses import Clause
from assistant.model.derivation import Run
from assistant.model.facts import FactType, Lever
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value, split_key

MORE = pytest.mark.slow
People = Callable[[int, int], list[Case]]
SLEEP, STRESS = "client.sleep_hours", "client.stress_1_to_5"
DAYS, MINUTES = "client.available_days", "client.minutes_per_session"
NOW, LIFE = "client.sessions_per_week_now", "client.daily_activity"
FOOD, PROTEIN = "client.intake_kcal_per_day", "client.protein_g_per_day"

# Levers with coarser steps than the book's, so that every combination can be run.
SMALL: Mapping[str, Lever] = {
    SLEEP: Lever(step=1, cost=3, reach=(4, 9), direction="up"),
    STRESS: Lever(step=1, cost=4, direction="down"),
    DAYS: Lever(cost=5, least=1),
    MINUTES: Lever(step=15, cost=2, reach=(30, 90)),
    NOW: Lever(step=1, cost=4, reach=(0, 4)),
    LIFE: Lever(cost=6, ordered=True, direction="up"),
    FOOD: Lever(step=400, cost=2, reach=(1200, 3200), direction="up"),
    PROTEIN: Lever(step=40, cost=1, reach=(20, 180)),
}
SETS = [(SLEEP, STRESS), (NOW, MINUTES), (SLEEP, PROTEIN), (MINUTES, LIFE)]
LONG_SETS = [
    (DAYS,),
    (DAYS, NOW),
    (SLEEP, STRESS, MINUTES),
    (NOW, LIFE, MINUTES),
    (SLEEP, FOOD, STRESS),
]


def _book(kb: KnowledgeBase, names: tuple[str, ...]) -> KnowledgeBase:
    facts = {
        key: fact.model_copy(update={"lever": SMALL[key] if key in names else None})
        for key, fact in kb.facts.items()
    }
    return dataclasses.replace(kb, facts=facts)


def _values(kb: KnowledgeBase, key: str, now: Value) -> Iterator[tuple[Value, float]]:
    """Yield every value of one lever with its effort, the present one for nothing."""
    lever, fact = SMALL[key], kb.facts[key]
    yield now, 0.0
    if fact.type is FactType.CHOICES:
        held = set(now) if isinstance(now, tuple) else set()
        for days in itertools.product([False, True], repeat=7):
            chosen = {d for d, on in zip(kb.book.domains["weekday"], days, strict=True) if on}
            if len(chosen) >= lever.least and chosen != held:
                yield tuple(sorted(chosen)), lever.cost * len(chosen ^ held)
    elif fact.type is FactType.CHOICE:
        here = fact.choices.index(str(now))
        for rank in range(here + 1, len(fact.choices)):
            yield fact.choices[rank], lever.cost * (rank - here)
    else:
        low, high = lever.reach or fact.range or (0, 0)
        assert lever.step is not None
        if isinstance(now, Status):
            yield from (
                (low + n * lever.step, lever.cost)
                for n in range(60)
                if low + n * lever.step <= high
            )
            return
        assert isinstance(now, float)
        for count in range(-60, 61):
            wrong_way = (count < 0 and lever.direction == "up") or (
                count > 0 and lever.direction == "down"
            )
            value = round(now + count * lever.step, 6)
            if count and not wrong_way and low <= value <= high:
                yield value, lever.cost * abs(count)


class Table:
    """Every combination of declared steps with its effort and a whole run's facts."""

    def __init__(self, kb: KnowledgeBase, case: Case, names: tuple[str, ...]) -> None:
        self.kb = _book(kb, names)
        self.book = compile_knowledge(self.kb, case.as_of)
        self.run = self._run(case.answers)
        self.rows: list[tuple[float, dict[str, Value], Run]] = []
        options = [list(_values(kb, name, self.run.facts[name].value)) for name in names]
        for picks in itertools.product(*options):
            changed = {
                name: value
                for name, (value, _) in zip(names, picks, strict=True)
                if value != self.run.facts[name].value
            }
            cost = math.fsum(cost for _, cost in picks)
            self.rows.append((cost, changed, self._run({**case.answers, **changed})))

    def _run(self, answers: Mapping[str, Value]) -> Run:
        return run_engine(self.book, answers, self.book.on, engine="clips", calculators=CALCULATORS)

    def least(self, meets: Callable[[Value | None], bool], key: str) -> tuple[float, list[Any]]:
        """Return the smallest effort that reaches a goal, and all changes of that effort."""
        met = [
            (cost, changed)
            for cost, changed, run in self.rows
            if meets(_value(run, key)) and _is_no_worse(self.run, run)
        ]
        cheapest = min((cost for cost, _ in met), default=math.inf)
        return cheapest, [changed for cost, changed in met if cost == cheapest]

    def search(self, key: str, target: str | None) -> Search:
        goal = read_goal(self.kb, key, _value(self.run, key), target)
        return find_flip(self.book, self.run, CALCULATORS, goal)


def _value(run: Run, key: str) -> Value | None:
    return run.facts[key].value if key in run.facts else None


def _is_no_worse(before: Run, after: Run) -> bool:
    levels = ("none", "inform", "caution", "withhold", "stop")
    now, then = (str(_value(run, "screen.level")) for run in (before, after))
    held, holds = (_value(run, "screen.withheld") or () for run in (before, after))
    return set(holds) <= set(held) and levels.index(then) <= levels.index(now)  # type: ignore[arg-type]


def _seen(kb: KnowledgeBase, key: str, value: Value | None) -> Value | None:
    if isinstance(value, float):
        return round(value, kb.facts[split_key(key)[0]].decimals)
    return value


def _check(
    table: Table, key: str, target: str | None, meets: Callable[[Value | None], bool]
) -> bool:
    """Compare the search with the table; tells whether there was a flip."""
    effort, changes = table.least(meets, key)
    found = table.search(key, target)
    assert found.complete
    if effort == math.inf:
        assert found.flips == (), f"{key} {target}: the table has no flip"
        return False
    assert found.flips, f"{key} {target}: the table has {changes[:2]}"
    for flip in found.flips:
        assert flip.cost == pytest.approx(effort), f"{key} {target}: the table has {changes[:2]}"
        assert dict(flip.answers) in changes
        if len(flip.moves) == 1:
            for other in flip.moves[0].alike:
                assert {flip.moves[0].key: other} in changes
    return True


@pytest.mark.parametrize(
    ("seed", "names", "most"),
    [
        *((number, names, 9) for number, names in enumerate(SETS)),
        *(pytest.param(20, names, 25, marks=MORE) for names in (*LONG_SETS, *SETS)),
    ],
)
def test_no_cheaper_change_does_it(
    kb: KnowledgeBase, people: People, seed: int, names: tuple[str, ...], most: int
) -> None:
    """Goals: any other value, and each of a few values that the table holds; also goals out of reach."""
    chance = random.Random(seed)
    person = next(p for p in people(seed + 100, 60) if _is_complete(p, names))
    table = Table(kb, person, names)
    runs = [run for _, _, run in table.rows]
    derived = sorted(
        key for key in {key for run in runs for key in run.facts}
        if kb.facts[split_key(key)[0]].origin == "derived"
    )  # fmt: skip
    seen = {key: {_seen(kb, key, _value(run, key)) for run in runs} for key in derived}
    moved = [key for key in derived if len(seen[key]) > 1]
    fixed = [key for key in derived if len(seen[key]) == 1]
    asked = [*chance.sample(moved, min(most, len(moved))), *chance.sample(fixed, 2)]
    flipped = 0
    for key in asked:
        now = _seen(kb, key, _value(table.run, key))
        flipped += _check(table, key, None, lambda v, k=key, n=now: _seen(kb, k, v) != n)  # type: ignore[misc]
        for other in sorted(seen[key] - {now}, key=str)[:2]:
            if isinstance(other, str) and other not in set(Status):
                flipped += _check(table, key, other, lambda v, o=other: v == o)  # type: ignore[misc]
            if isinstance(other, float):
                flipped += _check(
                    table, key, f">={other!r}",
                    lambda v, k=key, o=other: v is not None and _seen(kb, k, v) >= o,  # type: ignore[misc,operator]
                )  # fmt: skip
    assert flipped >= len(asked) / 3


def test_values_that_only_a_shared_rule_tells_apart_are_not_lumped_together(
    kb: KnowledgeBase, cases: dict[str, Case]
) -> None:
    """Sleep under 7 counts as poor recovery only under stress: one rule, two answers."""
    table = Table(kb, cases["short_nights"], (SLEEP, STRESS))
    assert _value(table.run, "recovery.poor") is True
    assert _check(table, "recovery.poor", "no", lambda v: v is False)


def test_an_open_answer_is_a_step_whatever_it_turns_out_to_be(
    kb: KnowledgeBase, cases: dict[str, Case]
) -> None:
    case = cases["four_days"]
    answers = {**case.answers, SLEEP: Status.UNKNOWN, STRESS: 4.0}
    table = Table(kb, dataclasses.replace(case, answers=answers), (SLEEP, STRESS))
    for key in ("recovery.poor", "unsure.recovery", "advice.sleep_first", "note.sleep_hours"):
        now = _value(table.run, key)
        assert _check(table, key, None, lambda v, n=now: v != n)  # type: ignore[misc]


def test_a_change_that_raises_a_flag_is_no_way_out(
    kb: KnowledgeBase, cases: dict[str, Case]
) -> None:
    """In a book of its own, sessions of 75 minutes and more raise a flag."""
    rule = kb.rules["SCR-OLDER-ADULT"]
    clause = Clause.model_validate({"fact": MINUTES, "at_least": 75.0})
    strict = rule.model_copy(update={"when": (clause,), "unless": (), "excused_by": ()})
    book = dataclasses.replace(kb, rules={**kb.rules, rule.id: strict})
    table = Table(book, cases["four_days"], (MINUTES, NOW))
    free = Table(kb, cases["four_days"], (MINUTES, NOW))
    key, now = "energy.target_kcal_per_day", _value(table.run, "energy.target_kcal_per_day")
    assert isinstance(now, float)

    def more(value: Value | None) -> bool:
        return isinstance(value, float) and _seen(kb, key, value) > _seen(kb, key, now)  # type: ignore[operator]

    target = f">{round(now, -1):g}"
    assert _check(free, key, target, more)
    assert not _check(table, key, target, more)
    assert table.search(key, target).refused > 0


def _is_complete(person: Case, names: tuple[str, ...]) -> bool:
    return all(isinstance(person.answers.get(n), float | str | tuple) and
               not isinstance(person.answers.get(n), Status) for n in names)  # fmt: skip


def test_the_fast_pass_says_what_an_engine_says(kb: KnowledgeBase, people: People) -> None:
    """Every fact on the way, not only those a goal asks for, on other values of several levers."""
    for person in people(40, 1):
        book = compile_knowledge(kb, person.as_of)
        run = run_engine(book, person.answers, book.on, engine="clips", calculators=CALCULATORS)
        moving = (SLEEP, DAYS, MINUTES, NOW, LIFE)
        derived = [k for k in book.refs if kb.facts[split_key(k)[0]].origin == "derived"]
        trial = Trial(book, run, CALCULATORS, moving, derived)
        changes: dict[str, Value] = {
            SLEEP: 5.5, DAYS: ("fri", "mon", "wed"), MINUTES: 40.0, NOW: 1.0, LIFE: "active",
        }  # fmt: skip
        for size in range(len(moving) + 1):
            some = dict(itertools.islice(changes.items(), size))
            other = run_engine(
                book, {**person.answers, **some}, book.on, engine="clips", calculators=CALCULATORS
            )
            facts = trial.facts(some)
            for key in derived:
                value = other.facts[key].value if key in other.facts else None
                assert facts.values.get(key) in {value, None if value is False else value}
                if key in other.facts and other.facts[key].low is not None:
                    assert facts.ranges[key] == (other.facts[key].low, other.facts[key].high)
