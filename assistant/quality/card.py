"""A rule as a card that a trainer can read: what it asks, what it says, why, and how it is tested."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from assistant.knowledge.tables import spelled
from assistant.knowledge.walk import parameters_read
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule, RuleTestCase
from assistant.model.sources import SourceUse
from assistant.quality.words import Words


@dataclass(frozen=True)
class CardLine:
    """One line of a card. kind, id: what it is about (`number`, `rule` or `source`); empty for plain words."""

    text: str
    kind: str = ""
    id: str = ""


@dataclass(frozen=True)
class CardPart:
    """The lines of a card under one title."""

    title: str
    lines: tuple[CardLine, ...]


def rule_card(rule: Rule, kb: KnowledgeBase) -> str:
    """Return the card of one rule as text."""
    rows = [f"{rule.id}: {rule.title}", *card_head(rule, kb)]
    for part in card_parts(rule, kb):
        rows += [part.title, *(f"  - {line.text}" for line in part.lines)]
    return "\n".join(rows) + "\n"


def card_head(rule: Rule, kb: KnowledgeBase) -> list[str]:
    """Return where a rule runs and stands, and when it is in force."""
    rows = [f"stage {rule.stage}, in {kb.places[rule.id]}"]
    if rule.in_force_from or rule.in_force_until:
        rows.append(
            f"in force from {rule.in_force_from or 'ever'} until "
            f"{rule.in_force_until or 'further notice'}"
        )
    rows += [f"once for each {name} in {source}" for name, source in (rule.for_each or {}).items()]
    return rows


def card_parts(rule: Rule, kb: KnowledgeBase) -> tuple[CardPart, ...]:
    """Return what a rule asks, says, rests on, and how it is tested; empty parts are left out."""
    return tuple(_parts(rule, kb, Words(kb)))


def _parts(rule: Rule, kb: KnowledgeBase, words: Words) -> Iterator[CardPart]:
    yield from _titled("When", (words.condition(each) for each in rule.when), "always")
    yield from _titled("Unless", (words.clause(each) for each in rule.unless))
    yield from _titled("Excused by", (words.clause(each) for each in rule.excused_by))
    yield from _titled("Then", (words.conclusion(each) for each in rule.then))
    yield from _titled("Gives way to it", (CardLine(each, "rule", each) for each in rule.overrides))
    yield from _titled("Because", [rule.because])
    yield from _titled("Would be settled by", filter(None, [rule.settled_by]))
    if rule.client_because:
        yield from _titled("For the client", [rule.client_because])
    numbers = [kb.parameters[name] for name in sorted(parameters_read(rule))]
    yield from _titled(
        "Numbers", (CardLine(_number(each, kb, words), "number", each.id) for each in numbers)
    )
    yield from _titled("Sources", source_lines(rule.source, kb))
    yield from _titled("Grade", [f"{rule.grade.certainty.value}: {rule.grade.note}"])
    yield from _titled("Tests", _tests(rule))
    yield from _titled("Not tested, on purpose", (f"{k}: {v}" for k, v in rule.unmutated.items()))


def _titled(
    title: str, lines: Iterable[str | CardLine], otherwise: str | None = None
) -> Iterator[CardPart]:
    told = list(lines) or ([otherwise] if otherwise is not None else [])
    if told:
        each = (CardLine(line) if isinstance(line, str) else line for line in told)
        yield CardPart(title, tuple(each))


def _number(parameter: Parameter, kb: KnowledgeBase, words: Words) -> str:
    dated = ", ".join(
        f"{v.value:g}{words.unit(parameter.unit, v.value)} since {v.since.isoformat()}"
        for v in parameter.values
    )
    low, high = parameter.range
    own = kb.overlay.get(parameter.id)
    house = "" if own is None else f"; this house sets {own:g}"
    refs = ", ".join(use.ref for use in parameter.source)
    return (
        f"{parameter.title} [{parameter.id}]: {dated}{house}; a house may set {low:g} to {high:g} "
        f"in steps of {parameter.step:g}; {parameter.grade.certainty.value}, {refs}"
    )


def source_lines(uses: Iterable[SourceUse], kb: KnowledgeBase) -> Iterator[CardLine]:
    """Yield each source with its DOI, how it is known, what it says, and what it supports."""
    for use in uses:
        source = kb.sources[use.ref]
        doi = f", doi {source.doi}" if source.doi else ""
        where = f" ({use.where})" if use.where else ""
        text = (
            f"{source.citation}{doi} [{source.id}, {source.mark.value.replace('_', ' ')}]{where}: "
            f"{source.says} Supports: {use.supports}."
        )
        yield CardLine(text, "source", source.id)


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
