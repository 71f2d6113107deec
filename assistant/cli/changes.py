"""Typed changes such as `sleep=8h`, `days+=sat`, `protein.aim_per_lb=top`: names, units, ranges."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import product

from assistant.casefiles import check_answers
from assistant.intake.form import Form, Slot
from assistant.intake.parse import parse_answer
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.intake.typed_numbers import parse_number
from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value

_CHANGE = re.compile(r"([A-Za-z][\w.]*)\s*(\+=|-=|=)\s*(.*)", re.DOTALL)
_UNIT_TAILS = frozenset({"cm", "kg", "percent", "hours", "years", "kcal_per_day", "g_per_day"})
_ENDS = {"bottom": 0, "top": 1}
_HOW = "write NAME=VALUE, NAME+=VALUE or NAME-=VALUE, e.g. sleep=8h or days+=sat"


@dataclass(frozen=True)
class Changes:
    """Checked changes: answers by fact id, and numbers of the rule book by parameter id."""

    answers: Mapping[str, Value] = field(default_factory=dict)
    numbers: Mapping[str, float] = field(default_factory=dict)


def read_changes(
    texts: Iterable[str],
    kb: KnowledgeBase,
    form: Form,
    now: Mapping[str, Value],
    system: UnitSystem,
) -> Changes:
    """Return typed changes, checked as the intake checks answers and settings.

    now: the answers so far, which `+=` and `-=` start from. Raises InputProblems with one line
    for each change that is not understood, not allowed or names nothing, or several things.
    """
    answers: dict[str, Value] = {}
    numbers: dict[str, float] = {}
    problems: list[Problem] = []
    for text in texts:
        match = _CHANGE.fullmatch(text.strip())
        if match is None:
            problems.append(Problem(text, "bad-change", f"this is not a change; {_HOW}"))
            continue
        name, sign, value = match.group(1), match.group(2), match.group(3).strip()
        try:
            found = resolve(name, kb, form)
            if found in kb.parameters:
                numbers[found] = _number(found, sign, value, kb)
            else:
                slot = form.slots[form.index_of(found)]
                held = answers.get(found, now.get(found, Status.UNKNOWN))
                answers[found] = _answer(slot, sign, value, held, system, kb)
        except Refusal as refusal:
            problems.append(Problem(text, "bad-change", str(refusal)))
    if problems:
        raise InputProblems(problems)
    return Changes(answers, numbers)


def resolve(name: str, kb: KnowledgeBase, form: Form) -> str:
    """Return the fact or parameter that a full or short name means.

    A short name is one word or several of the fact's name or label. What the client tells about
    themselves comes before safety answers, and these before numbers of the book. Raises Refusal
    if the name means nothing, or several things.
    """
    facts = {slot.fact: slot.declaration.label for slot in form.slots}
    if name in facts or name in kb.parameters:
        return name
    answers: list[Mapping[str, str]] = [
        {fact: label for fact, label in facts.items() if fact.startswith("client.")},
        {fact: label for fact, label in facts.items() if not fact.startswith("client.")},
    ]
    numbers: Mapping[str, str] = {each.id: each.title for each in kb.parameters.values()}
    tried = [*product(_WAYS, answers), *((way, numbers) for way in _WAYS)]
    short = name.rpartition(".")[2] if name.partition(".")[0] in {"client", "screen"} else name
    for fits, family in tried:
        found = [each for each, label in family.items() if fits(short.lower(), each, label)]
        if len(found) == 1:
            return found[0]
        if found:
            raise Refusal(f"`{name}` can mean {', '.join(sorted(found))}; write it out")
    raise Refusal(f"`{name}` is no answer and no number of the rule book; see rules/facts")


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.lower())


def _is_tail(short: str, name: str, _: str) -> bool:
    return name.partition(".")[2] == short


def _is_measure(short: str, name: str, _: str) -> bool:
    """`waist` is the girth `waist_cm`, not the place `waist_site`."""
    tail = name.partition(".")[2]
    return tail.startswith(f"{short}_") and tail.removeprefix(f"{short}_") in _UNIT_TAILS


def _begins(short: str, name: str, _: str) -> bool:
    tail = name.partition(".")[2]
    return tail.startswith(f"{short}_")


def _holds(short: str, name: str, _: str) -> bool:
    return set(_words(short.replace("_", " "))) <= set(_words(name.replace("_", " ")))


def _speaks_of(short: str, name: str, label: str) -> bool:
    return set(_words(short.replace("_", " "))) <= set(_words(f"{name} {label}".replace("_", " ")))


_WAYS: tuple[Callable[[str, str, str], bool], ...] = (
    _is_tail,
    _is_measure,
    _begins,
    _holds,
    _speaks_of,
)


def _number(name: str, sign: str, value: str, kb: KnowledgeBase) -> float:
    parameter = kb.parameters[name]
    low, high = parameter.range
    if sign != "=":
        raise Refusal(f"`{name}` is a number of the rule book; write it with =")
    if value in _ENDS:
        return parameter.range[_ENDS[value]]
    try:
        number = float(value)
    except ValueError:
        number = float("nan")
    if not low <= number <= high:
        allowed = f"{low:g} to {high:g} {parameter.unit}"
        raise Refusal(f"`{name}` cannot be `{value}`; allowed: {allowed}, top or bottom")
    return number


def _answer(
    slot: Slot, sign: str, value: str, held: Value, system: UnitSystem, kb: KnowledgeBase
) -> Value:
    kind = slot.declaration.type
    if sign == "=":
        if value in {Status.UNKNOWN, Status.DECLINED, Status.NOT_APPLICABLE}:
            return _checked(slot, value, kb)
        return parse_answer(value, slot, system)
    if kind is FactType.CHOICES:
        items = parse_answer(value, slot, system)
        before = set(held) if isinstance(held, tuple) else set()
        given = set(items) if isinstance(items, tuple) else set()
        both = before | given if sign == "+=" else before - given
        return tuple(sorted(both))
    if kind not in {FactType.NUMBER, FactType.INTEGER}:
        raise Refusal(f"`{slot.fact}` is no number and no list; write it with =")
    if isinstance(held, bool | str | tuple):
        raise Refusal(f"`{slot.fact}` has no number to start from; write it with =")
    by = parse_number(value, slot, system)
    return _checked(slot, held + by if sign == "+=" else held - by, kb)


def _checked(slot: Slot, raw: object, kb: KnowledgeBase) -> Value:
    answers, problems = check_answers({slot.fact: raw}, kb)
    if problems:
        raise Refusal(problems[0].text)
    return answers[slot.fact]
