"""A rule as a card that a trainer can read: what it asks, what it says, why, and how it is tested."""

from collections.abc import Iterator
from typing import Any

from assistant.knowledge.tables import spelled
from assistant.knowledge.walk import parameters_read
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule, RuleTestCase
from assistant.quality.words import Words


def rule_card(rule: Rule, kb: KnowledgeBase) -> str:
    """Return the card of one rule as text."""
    return "\n".join(_lines(rule, kb, Words(kb))) + "\n"


def _lines(rule: Rule, kb: KnowledgeBase, words: Words) -> Iterator[str]:
    yield f"{rule.id}: {rule.title}"
    yield f"stage {rule.stage}, in {kb.places[rule.id]}"
    if rule.in_force_from or rule.in_force_until:
        yield f"in force from {rule.in_force_from or 'ever'} until {rule.in_force_until or 'further notice'}"
    for variable, source in (rule.for_each or {}).items():
        yield f"once for each {variable} in {source}"
    yield from _titled("When", (words.condition(each) for each in rule.when), "always")
    yield from _titled("Unless", (words.clause(each) for each in rule.unless))
    yield from _titled("Excused by", (words.clause(each) for each in rule.excused_by))
    yield from _titled("Then", (words.conclusion(each) for each in rule.then))
    yield from _titled("Gives way to it", iter(rule.overrides))
    yield from _titled("Because", [rule.because])
    if rule.client_because:
        yield from _titled("For the client", [rule.client_because])
    numbers = [kb.parameters[name] for name in sorted(parameters_read(rule))]
    yield from _titled("Numbers", (_number(each, kb, words) for each in numbers))
    yield from _titled("Sources", _sources(rule, kb))
    yield from _titled("Grade", [f"{rule.grade.certainty.value}: {rule.grade.note}"])
    yield from _titled("Tests", _tests(rule))
    yield from _titled("Not tested, on purpose", (f"{k}: {v}" for k, v in rule.unmutated.items()))


def _titled(title: str, lines: Any, otherwise: str | None = None) -> Iterator[str]:
    told = list(lines) or ([otherwise] if otherwise is not None else [])
    if told:
        yield title
        yield from (f"  - {line}" for line in told)


def _number(parameter: Parameter, kb: KnowledgeBase, words: Words) -> str:
    unit = words.unit(parameter.unit)
    dated = ", ".join(f"{v.value:g}{unit} since {v.since.isoformat()}" for v in parameter.values)
    low, high = parameter.range
    own = kb.overlay.get(parameter.id)
    house = "" if own is None else f"; this house sets {own:g}"
    refs = ", ".join(use.ref for use in parameter.source)
    return (
        f"{parameter.title} [{parameter.id}]: {dated}{house}; a house may set {low:g} to {high:g} "
        f"in steps of {parameter.step:g}; {parameter.grade.certainty.value}, {refs}"
    )


def _sources(rule: Rule, kb: KnowledgeBase) -> Iterator[str]:
    for use in rule.source:
        source = kb.sources[use.ref]
        doi = f", doi {source.doi}" if source.doi else ""
        where = f" ({use.where})" if use.where else ""
        yield (
            f"{source.citation}{doi} [{source.id}, {source.mark.value.replace('_', ' ')}]{where}: "
            f"{source.says} Supports: {use.supports}."
        )


def _tests(rule: Rule) -> Iterator[str]:
    tests = rule.tests
    element = f" for {tests.loop}" if tests.loop else ""
    if tests.expect:
        yield f"given {_pairs(tests.given)}{element}: {_pairs(tests.expect)}"
    for case in tests.cases:
        yield f"but {_pairs(case.but)}: {_outcome(case)}"


def _outcome(case: RuleTestCase) -> str:
    said = []
    if case.fires is not None:
        said.append("fires" if case.fires else "holds back")
    if case.failed_at is not None:
        said.append(f"fails at {case.failed_at}")
    if case.blocked_by is not None:
        said.append(f"is held back by {case.blocked_by}")
    if case.needs:
        said.append(f"needs {', '.join(case.needs)}")
    if case.expect is not None:
        said.append(_pairs(case.expect))
    return ", ".join(said)


def _pairs(values: dict[str, Any]) -> str:
    return ", ".join(f"{key} = {_spelled(value)}" for key, value in values.items()) or "nothing"


def _spelled(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + _pairs(value) + "}"
    if isinstance(value, list):
        return f"[{spelled(value)}]"
    return spelled(value)
