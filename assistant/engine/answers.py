"""Answers as they enter a run: checked for kind, with declared defaults for harmless gaps."""

import datetime as dt
import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.engine.compiled import CompiledBook
from assistant.model.errors import InputProblems, Problem
from assistant.model.values import FactKey, Status, Value, split_key

AS_OF = "context.as_of"


@dataclass(frozen=True)
class Start:
    """What a run starts from. `assumed` are the keys of answers that took their default."""

    values: Mapping[FactKey, Value]
    assumed: frozenset[FactKey]


def starting_facts(book: CompiledBook, answers: Mapping[FactKey, Value], on: dt.date) -> Start:
    """Return answers, defaults and context facts by key.

    Raises InputProblems for an answer to an unknown fact or of the wrong kind.
    """
    problems = [
        problem
        for key in sorted(answers)
        if (problem := _problem(book, key, answers[key])) is not None
    ]
    if problems:
        raise InputProblems(problems)
    values: dict[FactKey, Value] = {key: plain_value(value) for key, value in answers.items()}
    assumed: set[FactKey] = set()
    for fact in book.kb.facts.values():
        if fact.default is None:
            continue
        for key in book.keys_of[fact.id]:
            value = values.get(key, Status.UNKNOWN)
            if isinstance(value, Status) and not value.is_answered:
                values[key] = plain_value(fact.default.value)
                assumed.add(key)
    if AS_OF in book.kb.facts:
        values[AS_OF] = on.isoformat()
    return Start(values, frozenset(assumed))


def plain_value(value: Value) -> Value:
    """Return a value in its one form: floats for numbers, sorted tuples for lists."""
    if isinstance(value, tuple):
        return tuple(sorted(set(value)))
    if isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    return value


def _problem(book: CompiledBook, key: FactKey, value: Value) -> Problem | None:
    place = f"answers.{key}"
    fact = book.kb.facts.get(split_key(key)[0])
    if fact is None or key not in book.refs:
        near = difflib.get_close_matches(key, book.refs, n=1)
        hint = f"; did you mean `{near[0]}`?" if near else ""
        return Problem(place, "unknown-fact", f"`{key}` is not declared{hint}")
    if fact.origin == "derived" or key == AS_OF:
        text = f"`{key}` is concluded by rules or comes from the run; it cannot be answered"
        return Problem(place, "not-an-answer", text)
    if isinstance(value, Status) or fact.type.suits(value):
        return None
    text = f"{value!r} is not a value of type {fact.type.value}"
    return Problem(place, "wrong-type", text)
