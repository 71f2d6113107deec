"""Book, facts, parameters and grades: what they declare is well-formed and fits together."""

import math
import re
from collections.abc import Sequence

from assistant.knowledge.checks.scope import Scope, is_number
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.units import is_known
from assistant.knowledge.values import read_value
from assistant.knowledge.walk import WITHHELD
from assistant.model.errors import Problem, Refused
from assistant.model.facts import Combine, FactDeclaration, FactType
from assistant.model.sources import Certainty
from assistant.model.values import Status

OUTPUTS = "output"
_DECIMALS = range(-3, 7)
_MOST_LEVER_ITEMS = 8
_MOST_LEVER_STEPS = 200
_LOINC = re.compile(r"[0-9]{1,7}-[0-9]")


def check_declarations(draft: Draft) -> list[Problem]:
    """Return what is wrong with the vocabulary itself."""
    book = Scope(draft, "book", draft.book.name)
    for name, ids in draft.book.domains.items():
        _no_repeats(ids, book, ("domains", name))
    _no_repeats(draft.book.stages, book, ("stages",))
    problems = book.problems
    for fact in draft.facts.values():
        scope = Scope(draft, "fact", fact.id)
        _domains(fact, scope)
        _choices(fact, scope)
        _numbers(fact, scope)
        _default(fact, scope)
        _lever(fact, scope)
        problems.extend(scope.problems)
    for parameter in draft.parameters.values():
        scope = Scope(draft, "parameter", parameter.id)
        _unit(parameter.unit, scope)
        _range(parameter.range, scope)
        problems.extend(scope.problems)
    missing = [each.value for each in Certainty if each.value not in draft.grades]
    if missing:
        place = f"{_root(draft)}/grades.yaml"
        text = f"the meaning of {', '.join(missing)} is not written"
        problems.append(Problem(place, "missing-grade", text))
    return problems


def _root(draft: Draft) -> str:
    return draft.origins["book", draft.book.name].parsed.file.rpartition("/")[0]


def _no_repeats(ids: Sequence[str], scope: Scope, path: tuple[str, ...]) -> None:
    for each in sorted({i for i in ids if list(ids).count(i) > 1}):
        scope.problem(path, "repeated-id", f"`{each}` stands twice in `{'.'.join(path)}`")


def _domains(fact: FactDeclaration, scope: Scope) -> None:
    domains = scope.draft.book.domains
    for field in ("index", "choice_domain"):
        name = getattr(fact, field)
        if name is not None and name not in domains:
            text = f"`{name}` is not a domain of book.yaml{did_you_mean(name, domains)}"
            scope.problem((field,), "unknown-domain", text)
    outputs = domains.get(OUTPUTS, ())
    for output in fact.reveals:
        if output not in outputs:
            text = f"`{output}` is not an output{did_you_mean(output, outputs)}"
            scope.problem(("reveals",), "unknown-choice", text)
    if fact.reveals and WITHHELD not in scope.draft.facts:
        text = f"`reveals` needs the fact `{WITHHELD}`"
        scope.problem(("reveals",), "unknown-fact", text)


def _choices(fact: FactDeclaration, scope: Scope) -> None:
    is_choice = fact.type in {FactType.CHOICE, FactType.CHOICES}
    if not is_choice and (fact.choices or fact.choice_domain or fact.groups):
        text = f"a {fact.type.value} has no choices"
        scope.problem(("type",), "bad-declaration", text)
    if fact.choices and fact.choice_domain:
        text = "either `choices` or `choice_domain`, not both"
        scope.problem(("choice_domain",), "bad-declaration", text)
    choices = scope.choices(fact)
    _no_repeats(fact.choices, scope, ("choices",))
    for status in Status:
        if status in choices and (status is not Status.NONE or fact.allows_none):
            text = f"the choice `{status}` cannot be told from having no value; rename it"
            scope.problem(("choices",), "bad-declaration", text)
    for group, members in fact.groups.items():
        if group in choices:
            text = f"group `{group}` has the name of a choice"
            scope.problem(("groups", group), "bad-declaration", text)
        for member in members:
            if member not in choices:
                text = f"`{member}` in group `{group}` is not a choice"
                hint = did_you_mean(member, choices)
                scope.problem(("groups", group), "unknown-choice", text + hint)


def _numbers(fact: FactDeclaration, scope: Scope) -> None:
    _unit(fact.unit, scope)
    if fact.range is not None:
        _range(fact.range, scope)
    if not is_number(fact) and (fact.range is not None or fact.has_range):
        scope.problem(("range",), "bad-declaration", f"a {fact.type.value} has no range")
    if fact.combine in {Combine.MIN, Combine.MAX} and not (
        is_number(fact) or fact.type is FactType.CHOICE
    ):
        text = f"`combine: {fact.combine.value}` is for numbers and ordered choices"
        scope.problem(("combine",), "bad-declaration", text)
    if fact.loinc is not None and not _LOINC.fullmatch(fact.loinc):
        scope.problem(("loinc",), "bad-declaration", f"`{fact.loinc}` is not a LOINC code")
    if fact.decimals not in _DECIMALS:
        text = f"{fact.decimals} decimals; allowed: -3 (thousands) to 6"
        scope.problem(("decimals",), "bad-declaration", text)


def _default(fact: FactDeclaration, scope: Scope) -> None:
    if fact.default is None:
        return
    raw = fact.default.value
    try:
        read_value(fact, scope.draft.book, list(raw) if isinstance(raw, tuple) else raw)
    except Refused as refused:
        scope.problem(("default", "value"), refused.code, f"the default {refused.text}")


def _lever(fact: FactDeclaration, scope: Scope) -> None:
    """A lever has few enough values that a search can try them all."""
    lever = fact.lever
    if lever is None:
        return
    if fact.type is FactType.CHOICES and len(scope.choices(fact)) > _MOST_LEVER_ITEMS:
        text = f"a list of more than {_MOST_LEVER_ITEMS} choices has too many sets to try"
        scope.problem(("lever",), "too-many-steps", text)
    reach = lever.reach or fact.range
    if lever.step is not None and reach is not None:
        steps = (reach[1] - reach[0]) / lever.step
        if steps > _MOST_LEVER_STEPS:
            text = f"{steps:.0f} steps; allowed: up to {_MOST_LEVER_STEPS}; widen `step`"
            scope.problem(("lever", "step"), "too-many-steps", text)


def _unit(unit: str, scope: Scope) -> None:
    if not is_known(unit):
        text = f"`{unit}` is not a unit used here; e.g. kg, cm, kcal/d, {{sets}}/wk, a count 1; all of them: `units` in rules/wording.yaml"
        scope.problem(("unit",), "unknown-unit", text)


def _range(limits: tuple[float, float], scope: Scope) -> None:
    low, high = limits
    if not (math.isfinite(low) and math.isfinite(high) and low <= high):
        scope.problem(("range",), "bad-range", f"{low:g} to {high:g} is not a range")
