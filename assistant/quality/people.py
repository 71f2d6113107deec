"""Invented people for trying a whole book: seeded, so the same number is always the same person.

Three kinds take turns. A `plain` person is a whole case with a few answers changed; a `wild` one
answers at random; an `aimed` one is a plain person with the answers of one rule's own test put in
and a few of the answers that rule rests on changed, so that rules behind rare answers are tried, too.
Numbers often fall on a rule's line or beside it.
"""

import datetime as dt
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from assistant.knowledge.draft import choices_of
from assistant.knowledge.walk import clauses, facts_read, facts_written, operand
from assistant.model.expressions import ParameterTerm
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Status, Value
from assistant.quality.points import points

SCREEN = "screen."
# How often a wild person has something to report, leaves a question open, or stands on a line.
_REPORTED = 0.04
_OPEN_SHARES = (0.0, 0.02, 0.3)
_ON_A_LINE = 0.4
_CHANGED = (1, 2, 3, 5, 8)
_OPEN = (Status.UNKNOWN, Status.DECLINED, Status.NOT_APPLICABLE)
_MOST_FINDINGS = 4
_MOST_AIMED = 3
_DATES_DAYS = (-30, 500)


@dataclass(frozen=True)
class Aim:
    """Answers of one rule's test, and the other answers that the rule rests on, however far down."""

    answers: Mapping[FactKey, Value]
    others: tuple[FactDeclaration, ...]


@dataclass(frozen=True)
class People:
    """People for one book and day. bases: whole sets of answers to start plain people from."""

    kb: KnowledgeBase
    on: dt.date
    bases: Sequence[Mapping[FactKey, Value]] = ()
    _facts: tuple[FactDeclaration, ...] = field(init=False)
    _lines: Mapping[str, tuple[float, ...]] = field(init=False)
    _aims: tuple[Aim, ...] = field(init=False)

    def __post_init__(self) -> None:
        asked = tuple(f for f in self.kb.facts.values() if f.origin == "answer" and not f.personal)
        object.__setattr__(self, "_facts", asked)
        object.__setattr__(self, "_lines", _lines(self.kb, self.on))
        object.__setattr__(self, "_aims", _aims(self.kb))

    def person(self, seed: int) -> dict[FactKey, Value]:
        """Return the answers of person number `seed`."""
        draw = random.Random(seed)
        kind = seed % 3
        if kind == 0 or (kind == 2 and not self._aims):  # noqa: PLR2004 - three kinds
            return self._plain(draw)
        if kind == 1:
            return self._wild(draw)
        aim = self._aims[seed // 3 % len(self._aims)]
        answers = {**self._plain(draw), **aim.answers}
        for fact in draw.sample(aim.others, min(draw.randint(0, _MOST_AIMED), len(aim.others))):
            answers[fact.id] = self._answer(fact, draw, reported=0.5, is_open=0.1)
        return answers

    def _plain(self, draw: random.Random) -> dict[FactKey, Value]:
        if not self.bases:
            return self._wild(draw)
        answers = dict(draw.choice(self.bases))
        for fact in draw.sample(self._facts, min(draw.choice(_CHANGED), len(self._facts))):
            answers[fact.id] = self._answer(fact, draw, reported=0.5, is_open=0.2)
        return answers

    def _wild(self, draw: random.Random) -> dict[FactKey, Value]:
        share = draw.choice(_OPEN_SHARES)
        return {
            fact.id: self._answer(fact, draw, reported=_REPORTED, is_open=share)
            for fact in self._facts
        }

    def _answer(
        self, fact: FactDeclaration, draw: random.Random, *, reported: float, is_open: float
    ) -> Value:
        if draw.random() < is_open:
            return draw.choice(_OPEN)
        if fact.allows_none and draw.random() < 0.4:  # noqa: PLR2004 - many have nothing to name
            return Status.NONE
        if fact.type is FactType.BOOLEAN:
            return draw.random() < (reported if fact.id.startswith(SCREEN) else 0.5)
        if fact.type is FactType.DATE:
            return (self.on + dt.timedelta(days=draw.randint(*_DATES_DAYS))).isoformat()
        if fact.type in {FactType.CHOICE, FactType.CHOICES}:
            return self._choice(fact, draw, reported)
        if fact.type is FactType.TEXT:
            return "text"
        return self._number(fact, draw)

    def _choice(self, fact: FactDeclaration, draw: random.Random, reported: float) -> Value:
        allowed = choices_of(fact, self.kb.book)
        if fact.type is FactType.CHOICE:
            return draw.choice(allowed)
        if fact.id.startswith(SCREEN) and draw.random() > 2 * reported:
            return ()
        most = min(_MOST_FINDINGS, len(allowed)) if fact.id.startswith(SCREEN) else len(allowed)
        return tuple(sorted(draw.sample(allowed, draw.randint(1, most))))

    def _number(self, fact: FactDeclaration, draw: random.Random) -> float:
        assert fact.range is not None  # a number that people type has one
        low, high = fact.range
        lines = self._lines.get(fact.id, ())
        value = draw.uniform(low, high)
        if lines and draw.random() < _ON_A_LINE:
            value = draw.choice(lines)
        whole = fact.type is FactType.INTEGER
        return float(round(min(max(value, low), high), None if whole else 2))


def _lines(kb: KnowledgeBase, on: dt.date) -> dict[str, tuple[float, ...]]:
    """For each fact, the numbers that rules compare it with, and one step to both sides."""
    found: dict[str, set[float]] = {}
    for rule in kb.rules.values():
        for addressed in clauses(rule):
            term = operand(addressed.clause)
            if addressed.clause.fact is None or not isinstance(term, ParameterTerm):
                continue
            parameter = kb.parameters[term.param]
            if parameter.in_force(on) is None:
                continue
            value = kb.parameter_value(term.param, on).value
            steps = (value - parameter.step, value, value + parameter.step)
            found.setdefault(addressed.clause.fact, set()).update(steps)
    return {fact: tuple(sorted(values)) for fact, values in found.items()}


def _aims(kb: KnowledgeBase) -> tuple[Aim, ...]:
    """One aim for each test point at which a rule fires; the rules are taken in turn."""
    below = _answers_below(kb)
    aims: list[Aim] = []
    for rule in kb.rules.values():
        for point in points(rule, kb):
            if point.expected.fires or point.expected.expect is not None:
                answers = {k: v for k, v in point.given.items() if _is_answer(kb, k)}
                rests_on = {f for read in facts_read(rule) for f in below.get(read, {read})}
                others = sorted(f for f in rests_on if _is_answer(kb, f) and f not in answers)
                aims.append(Aim(answers, tuple(kb.facts[f] for f in others)))
    return tuple(aims)


def _is_answer(kb: KnowledgeBase, key: FactKey) -> bool:
    return key in kb.facts and kb.facts[key].origin == "answer" and not kb.facts[key].personal


def _answers_below(kb: KnowledgeBase) -> dict[str, set[str]]:
    """For each concluded fact, all facts that it rests on, directly or through others."""
    direct: dict[str, set[str]] = {}
    for rule in kb.rules.values():
        for fact in facts_written(rule):
            direct.setdefault(fact, set()).update(facts_read(rule))
    below: dict[str, set[str]] = {}
    for fact in direct:
        seen: set[str] = set()
        frontier = {fact}
        while frontier:
            seen |= frontier
            frontier = {read for each in frontier for read in direct.get(each, ())} - seen
        below[fact] = seen
    return below
