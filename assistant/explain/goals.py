"""What a flip is to reach: any other conclusion than now, or the one that was asked for."""

import re
from dataclasses import dataclass

from assistant.explain.gaps import is_ordered
from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Value, split_key

_TARGET = re.compile(r"(>=|<=|>|<|!=|=)?\s*(.+)")
_NOTHING = frozenset({"nothing", "absent"})
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}


@dataclass(frozen=True)
class Goal:
    """A conclusion to reach about one fact.

    sign: "" for any value other than now as a reader sees it; else =, !=, >=, <=, >, <, `has` or
    `lacks`. wanted: the value asked for; None stands for no conclusion at all.
    """

    key: FactKey
    fact: FactDeclaration
    now: Value | None
    sign: str = ""
    wanted: Value | None = None

    def is_met(self, value: Value | None) -> bool:
        """Tell whether a conclusion is what is asked for."""
        if self.sign in {"", "="}:
            same = self._seen(value) == self._seen(self.wanted if self.sign else self.now)
            return same == bool(self.sign)
        if self.sign == "!=":
            return self._seen(value) != self._seen(self.wanted)
        if self.sign in {"has", "lacks"}:
            return (isinstance(value, tuple) and self.wanted in value) == (self.sign == "has")
        if value is None:
            return False
        have, line = self._rank(value), self._rank(self.wanted)
        return {">=": have >= line, "<=": have <= line, ">": have > line, "<": have < line}[
            self.sign
        ]

    def _seen(self, value: Value | None) -> Value | None:
        """Return a value as a reader sees it: a change that rounding hides is none."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value
        return round(float(value), self.fact.decimals) + 0.0

    def _rank(self, value: Value | None) -> float:
        if isinstance(value, str) and value in self.fact.choices:
            return float(self.fact.choices.index(value))
        seen = self._seen(value)
        assert isinstance(seen, int | float)  # `read_goal` lets nothing else through
        return float(seen)


def read_goal(kb: KnowledgeBase, key: FactKey, now: Value | None, text: str | None) -> Goal:
    """Return the goal that a typed target means, e.g. `3`, `>=3`, `yes`, `has:lats`, `absent`.

    Raises InputProblems with what is allowed.
    """
    fact = kb.facts[split_key(key)[0]]
    if text is None:
        return Goal(key, fact, now)
    plain = text.strip()
    if plain in _NOTHING:
        return Goal(key, fact, now, "=", None)
    word, colon, item = plain.partition(":")
    if colon and word in {"has", "lacks"} and fact.type is FactType.CHOICES:
        return Goal(key, fact, now, word, _choice(fact, kb, item, text))
    match = _TARGET.fullmatch(plain)
    if match is None:
        raise _wrong(text, "it is empty")
    sign, value = match.group(1) or "=", match.group(2)
    return Goal(key, fact, now, sign, _wanted(fact, kb, sign, value, text))


def _wanted(fact: FactDeclaration, kb: KnowledgeBase, sign: str, value: str, text: str) -> Value:
    """Return the value a target names."""
    if fact.type in {FactType.NUMBER, FactType.INTEGER}:
        return _number(value, text)
    ordered = is_ordered(fact) and bool(fact.choices)
    if fact.type is FactType.CHOICE and (ordered or sign in {"=", "!="}):
        return _choice(fact, kb, value, text)
    if sign not in {"=", "!="}:
        raise _wrong(text, "only numbers and ordered choices have more and less")
    if fact.type is FactType.BOOLEAN:
        if value not in _YES_NO:
            raise _wrong(text, "allowed: yes or no")
        return _YES_NO[value]
    if fact.type is FactType.CHOICES:
        return tuple(sorted(_choice(fact, kb, part.strip(), text) for part in value.split(",")))
    return value


def _number(value: str, text: str) -> float:
    try:
        return float(value)
    except ValueError:
        raise _wrong(text, "allowed: a number, with >=, <=, >, < or != before it") from None


def _choice(fact: FactDeclaration, kb: KnowledgeBase, value: str, text: str) -> str:
    choices = kb.book.choices_of(fact)
    if value not in choices:
        raise _wrong(text, f"allowed: {', '.join(choices)}")
    return value


def _wrong(text: str, why: str) -> InputProblems:
    return InputProblems([Problem(text, "bad-target", f"this is no target here; {why}")])
