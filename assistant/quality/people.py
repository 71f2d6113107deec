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

from assistant.knowledge.flag_rules import DECISIONS
from assistant.knowledge.walk import clauses, operand
from assistant.model.expressions import ParameterTerm
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Status, Value, fact_key
from assistant.quality.witnesses import Witness, witnesses_of

SCREEN = "screen."
# How often a wild person has something to report, leaves a question open, or stands on a line.
_REPORTED = 0.04
_OPEN_SHARES = (0.0, 0.02, 0.3)
_ON_A_LINE = 0.4
_DECIDED = 0.2
_CHANGED = (1, 2, 3, 5, 8)
_OPEN = (Status.UNKNOWN, Status.DECLINED, Status.NOT_APPLICABLE)
_MOST_FINDINGS = 4
_MOST_VARIED = 3
# An aimed person's answer is changed to a base's, by a little, or to anything, in these shares.
_LIKE_A_BASE = 0.35
_BY_A_LITTLE = 0.7
_DATES_DAYS = (-30, 500)


def seeded(seed: int | str) -> random.Random:
    """Return a source of chance that gives the same draws for the same seed."""
    return random.Random(seed)  # noqa: S311 - invented people are no secret


@dataclass(frozen=True)
class People:
    """People for one book and day. bases: whole sets of answers to start plain people from."""

    kb: KnowledgeBase
    on: dt.date
    bases: Sequence[Mapping[FactKey, Value]] = ()
    _facts: tuple[FactDeclaration, ...] = field(init=False)
    _lines: Mapping[str, tuple[float, ...]] = field(init=False)
    _witnesses: tuple[Witness, ...] = field(init=False)

    def __post_init__(self) -> None:
        asked = tuple(f for f in self.kb.facts.values() if f.origin == "answer" and not f.personal)
        object.__setattr__(self, "_facts", asked)
        object.__setattr__(self, "_lines", _lines(self.kb, self.on))
        object.__setattr__(self, "_witnesses", witnesses_of(self.kb))

    def person(self, seed: int) -> dict[FactKey, Value]:
        """Return the answers of person number `seed`."""
        draw = seeded(seed)
        kind = seed % 3
        if kind == 0 or (kind == 2 and not self._witnesses):  # noqa: PLR2004 - three kinds
            return {**self._plain(draw), **self._decided(draw, _DECIDED)}
        if kind == 1:
            return {**self._wild(draw), **self._decided(draw, _DECIDED)}
        return self._like(self._witnesses[seed // 3 % len(self._witnesses)], draw)

    def aimed_at(self, rule_id: str, number: int) -> dict[FactKey, Value]:
        """Return a person aimed at one rule, from each of its test points in turn."""
        witnesses = [witness for witness in self._witnesses if witness.rule == rule_id]
        draw = seeded(f"{rule_id} {number}")
        return (
            self._like(witnesses[number % len(witnesses)], draw) if witnesses else self._plain(draw)
        )

    def changed(
        self, answers: Mapping[FactKey, Value], rule_id: str, number: int
    ) -> dict[FactKey, Value]:
        """Return a person like another one, with a few answers changed that a rule rests on."""
        draw = seeded(f"{rule_id} changed {number}")
        witnesses = [witness for witness in self._witnesses if witness.rule == rule_id]
        return (
            self._varied(answers, witnesses[0], draw.randint(1, _MOST_VARIED), draw)
            if witnesses
            else {}
        )

    def _like(self, witness: Witness, draw: random.Random) -> dict[FactKey, Value]:
        answers = {**self._plain(draw), **self._decided(draw, _DECIDED), **witness.drawn(draw)}
        return self._varied(answers, witness, draw.randint(0, _MOST_VARIED), draw)

    def _varied(
        self, answers: Mapping[FactKey, Value], witness: Witness, count: int, draw: random.Random
    ) -> dict[FactKey, Value]:
        """Change a few answers the rule rests on: to anything, to a base's, or by a little."""
        varied = dict(answers)
        chosen = draw.choices(witness.others, witness.weights, k=count) if witness.others else []
        for fact_id in dict.fromkeys(chosen):
            fact, way = self.kb.facts[fact_id], draw.random()
            for key in self._keys(fact):
                have = varied.get(key)
                if way < _LIKE_A_BASE and self.bases:
                    varied[key] = draw.choice(self.bases).get(key, Status.UNKNOWN)
                elif way < _BY_A_LITTLE and isinstance(have, float) and fact.range is not None:
                    varied[key] = self._fitted(fact, have * draw.uniform(0.8, 1.25))
                else:
                    varied[key] = self._answer(fact, draw, reported=0.5, is_open=0.1)
        return varied

    def _plain(self, draw: random.Random) -> dict[FactKey, Value]:
        if not self.bases:
            return self._wild(draw)
        answers = dict(draw.choice(self.bases))
        for fact in draw.sample(self._facts, min(draw.choice(_CHANGED), len(self._facts))):
            for key in self._keys(fact):
                answers[key] = self._answer(fact, draw, reported=0.5, is_open=0.2)
        return answers

    def _wild(self, draw: random.Random) -> dict[FactKey, Value]:
        share = draw.choice(_OPEN_SHARES)
        return {
            key: self._answer(fact, draw, reported=_REPORTED, is_open=share)
            for fact in self._facts
            for key in self._keys(fact)
        }

    def _decided(self, draw: random.Random, share: float) -> dict[FactKey, Value]:
        """What people have decided about flags: something for this share of them, else nothing."""
        if draw.random() >= share:
            return {}
        decided: dict[FactKey, Value] = {}
        for kind, fact in DECISIONS.items():
            may = sorted(f.id for f in self.kb.flags.values() if getattr(f, kind) is not None)
            if may:
                decided[fact] = tuple(sorted(draw.sample(may, draw.randint(0, len(may)))))
        return decided

    def _keys(self, fact: FactDeclaration) -> list[FactKey]:
        """The keys of a fact: one, or one for each id it is indexed by."""
        if fact.index is None:
            return [fact.id]
        return [fact_key(fact.id, each) for each in self.kb.book.domains[fact.index]]

    def _answer(  # noqa: PLR0911 - one return for each type of fact
        self, fact: FactDeclaration, draw: random.Random, *, reported: float, is_open: float
    ) -> Value:
        if draw.random() < is_open:
            left = draw.choice(_OPEN)
            is_left_out = left is Status.NOT_APPLICABLE and self.kb.asks_everybody(fact)
            return Status.UNKNOWN if is_left_out else left
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
        allowed = self.kb.book.choices_of(fact)
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
        return self._fitted(fact, value)

    @staticmethod
    def _fitted(fact: FactDeclaration, value: float) -> float:
        """The nearest number the fact may have."""
        assert fact.range is not None  # the callers saw to it
        low, high = fact.range
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
