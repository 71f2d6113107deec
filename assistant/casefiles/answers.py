"""Answers of one person: each value against its fact's declaration, all problems at once."""

from collections.abc import Callable, Mapping
from typing import Any

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.values import read_value
from assistant.model.errors import Problem, Refused
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value, fact_key, split_key

_HEIGHT, _WEIGHT = "client.height_cm", "client.weight_kg"


def check_answers(
    raw: Mapping[Any, Any], kb: KnowledgeBase, place: str | Callable[[str], str] = "answers"
) -> tuple[dict[str, Value], list[Problem]]:
    """Return the checked answers by fact, in order of fact, and what is wrong with the rest.

    place: what stands before the field in a problem's place, or a function from field to place.
    """
    answers: dict[str, Value] = {}
    problems: list[Problem] = []
    place_of = place if callable(place) else lambda field: f"{place}.{field}"
    for field, value in raw.items():
        try:
            answers[str(field)] = _answer(field, value, kb)
        except Refused as refused:
            text = f"`{field}` {refused.text}"
            problems.append(Problem(place_of(str(field)), refused.code, text))
    swapped = _swapped(raw, kb)
    if swapped:
        blamed = {place_of(_HEIGHT), place_of(_WEIGHT)}
        problems = [
            Problem(p.place, p.code, f"{p.text}; {swapped}")
            if p.code == "out-of-range" and p.place in blamed
            else p
            for p in problems
        ]
    return dict(sorted(answers.items())), problems


def _answer(field: Any, value: Any, kb: KnowledgeBase) -> Value:
    if not isinstance(field, str):
        raise Refused("bad-key", "is not the name of a fact")
    fact_id, index = split_key(field)
    declaration = kb.facts.get(fact_id)
    if declaration is None:
        answerable = [each.id for each in kb.facts.values() if each.origin == "answer"]
        hint = did_you_mean(fact_id, answerable, "; rules/facts lists them all")
        raise Refused("unknown-fact", f"is not a fact people answer{hint}")
    if declaration.origin != "answer":
        raise Refused("not-an-answer", "is worked out, not answered; remove it")
    if (index is None) != (declaration.index is None):
        form = fact_key(fact_id, f"<{declaration.index}>") if declaration.index else fact_id
        raise Refused("bad-key", f"is written `{form}`")
    if index is not None and index not in kb.book.domains.get(declaration.index or "", ()):
        known = kb.book.domains.get(declaration.index or "", ())
        raise Refused("bad-key", f"has the unknown part `{index}`{did_you_mean(index, known)}")
    read = read_value(declaration, kb.book, value)
    if read is Status.NOT_APPLICABLE and kb.asks_everybody(declaration):
        raise Refused(
            "bad-value",
            "is `not_applicable`; everybody is asked this: allowed are an answer, unknown and declined",
        )
    return read


def _swapped(raw: Mapping[Any, Any], kb: KnowledgeBase) -> str:
    """A hint if height and weight only make sense the other way round, or in other units."""
    height, weight = raw.get(_HEIGHT), raw.get(_WEIGHT)
    if not (_is_in_range(_WEIGHT, height, kb) and _is_in_range(_HEIGHT, weight, kb)):
        return ""
    if _is_in_range(_HEIGHT, height, kb) and _is_in_range(_WEIGHT, weight, kb):
        return ""
    return f"are height ({shown(height)}) and weight ({shown(weight)}) swapped?"


def _is_in_range(fact_id: str, value: Any, kb: KnowledgeBase) -> bool:
    declaration = kb.facts.get(fact_id)
    if declaration is None or isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    low, high = declaration.range or (0.0, 0.0)
    return low <= value <= high
