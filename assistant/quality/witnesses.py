"""Answers that should make a rule fire, put together from the rules' own tests."""

import random
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant.knowledge.flag_rules import DECISIONS
from assistant.knowledge.walk import facts_read, facts_written
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Value, split_key
from assistant.quality.points import Point, points

_DEEPEST = 4


@dataclass(frozen=True)
class Witness:
    """One test point at which a rule fires.

    answers: the answers it gives. below: for each conclusion it takes as given, the witnesses of rules
    whose tests draw that conclusion. others: answers the rule rests on that may be varied, however far down;
    weights: how likely each of them is to be changed, less for one that is further down.
    """

    rule: str
    answers: Mapping[FactKey, Value]
    below: tuple[tuple["Witness", ...], ...]
    others: tuple[str, ...]
    weights: tuple[float, ...]

    def drawn(self, draw: random.Random, depth: int = _DEEPEST) -> dict[FactKey, Value]:
        """Return one set of answers: its own, over some that lead to what it takes as given."""
        answers: dict[FactKey, Value] = {}
        if depth:
            for choices in self.below:
                answers.update(draw.choice(choices).drawn(draw, depth - 1))
        return {**answers, **self.answers}


def witnesses_of(kb: KnowledgeBase) -> tuple[Witness, ...]:
    """Return one witness for each test point at which a rule fires, in order of rule and point."""
    return _Maker(kb).all()


class _Maker:
    """Makes every witness once; a witness that rests on itself through others is cut off there."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._kb = kb
        self._below = _rests_on(kb)
        self._points: list[tuple[str, Point]] = [
            (rule.id, point)
            for rule in kb.rules.values()
            for point in points(rule, kb)
            if point.expected.fires or point.expected.expect is not None
        ]
        self._drawing: dict[str, list[int]] = {}
        for number, (_, point) in enumerate(self._points):
            for key in point.expected.expect or {}:
                self._drawing.setdefault(key, []).append(number)
        self._made: dict[int, Witness] = {}
        self._open: set[int] = set()

    def all(self) -> tuple[Witness, ...]:
        made = [self._aim(number) for number in range(len(self._points))]
        return tuple(witness for witness in made if witness is not None)

    def _aim(self, number: int) -> Witness | None:
        if number in self._made:
            return self._made[number]
        if number in self._open:
            return None
        self._open.add(number)
        rule_id, point = self._points[number]
        answers = {key: value for key, value in point.given.items() if self._is_put_in(key)}
        below = []
        for key, value in point.given.items():
            if key not in answers:
                found = [
                    self._aim(n) for n in self._drawing.get(key, ()) if self._fits(n, key, value)
                ]
                below.append(tuple(witness for witness in found if witness is not None))
        depths: dict[str, int] = {}
        for read in facts_read(self._kb.rules[rule_id]):
            for fact, depth in self._below.get(read, {read: 0}).items():
                depths[fact] = min(depth, depths.get(fact, depth))
        others = sorted(f for f in depths if self._may_vary(f, answers))
        weights = tuple(1 / (1 + depths[fact]) ** 2 for fact in others)
        witness = Witness(
            rule_id, answers, tuple(each for each in below if each), tuple(others), weights
        )
        self._open.discard(number)
        self._made[number] = witness
        return witness

    def _may_vary(self, fact: str, answers: Mapping[FactKey, Value]) -> bool:
        """Whether an answer may be varied: the witness's own ones only where they are numbers."""
        is_own = fact in answers and not isinstance(answers[fact], float)
        return self._is_put_in(fact) and not is_own

    def _is_put_in(self, key: FactKey) -> bool:
        """Whether people say it: an answer, or what they decided about flags."""
        if key in DECISIONS.values():
            return True
        fact = self._kb.facts.get(split_key(key)[0])
        return fact is not None and fact.origin == "answer" and not fact.personal

    def _fits(self, number: int, key: FactKey, value: Value) -> bool:
        """Whether the conclusion a test expects is what another test takes as given."""
        expected: Any = (self._points[number][1].expected.expect or {})[key]
        if isinstance(expected, dict):
            expected = expected.get("value")
        if isinstance(value, tuple):
            groups = self._kb.facts[split_key(key)[0]].groups
            have = {item for name in expected for item in groups.get(name, (name,))}
            return bool(have & set(value))
        return bool(expected == value)


def _rests_on(kb: KnowledgeBase) -> dict[str, dict[str, int]]:
    """For each concluded fact, all facts it rests on, with how many rules lie between at least."""
    direct: dict[str, set[str]] = {}
    for rule in kb.rules.values():
        for fact in facts_written(rule):
            direct.setdefault(fact, set()).update(facts_read(rule))
    below: dict[str, dict[str, int]] = {}
    for start in direct:
        seen: dict[str, int] = {}
        frontier = {start}
        depth = 0
        while frontier:
            seen.update(dict.fromkeys(frontier, depth))
            depth += 1
            frontier = {read for each in frontier for read in direct.get(each, ())} - seen.keys()
        below[start] = seen
    return below
