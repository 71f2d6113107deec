"""The first text of a new rule: it reads and sets what its author named, and has tests to go on from.

Values come from the declarations of the facts; whatever the author must decide is said in the text
itself, so that nothing is guessed in silence.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import Combine, FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Mark

_HEAD = "# yaml-language-server: $schema=../schema/rule.schema.json\n"
TITLE = "say in one line what the rule does"
BECAUSE = "say here why, in a sentence or two"
SUPPORTS = "say what the source supports"
NOTE = "say why the grade is no stronger"
# A rule that still says one of these has not been written yet; the checks tell.
UNWRITTEN = frozenset({TITLE, BECAUSE, SUPPORTS, NOTE})


@dataclass(frozen=True)
class Wish:
    """What a new rule is to be. reads: facts of its conditions. sets: the fact it concludes."""

    rule_id: str
    stage: str
    title: str
    sets: str
    reads: Sequence[str] = ()


def skeleton(wish: Wish, kb: KnowledgeBase) -> str:
    """Return the file's text. Raises InputProblems for facts it cannot make a rule of."""
    facts = [kb.facts[name] for name in wish.reads]
    target = kb.facts[wish.sets]
    if target.origin != "derived":
        text = f"`{target.id}` is an {target.origin}; a rule concludes derived facts"
        raise InputProblems([Problem("--sets", "not-derived", text)])
    domain = target.index or next((fact.index for fact in facts if fact.index), None)
    element = kb.book.domains[domain][0] if domain else None
    given = {_key(fact, element): _example(fact, kb) for fact in facts}
    lines = [
        f"id: {wish.rule_id}",
        f"title: {json.dumps(wish.title, ensure_ascii=False)}",
        f"stage: {wish.stage}",
        *([f"for_each: {{{domain}: {domain}}}"] if domain else []),
        *(["when:"] if facts else []),
        *[f"  - {_flow(_clause(fact, kb, domain))}" for fact in facts],
        "then:",
        f"  - {_flow(_conclusion(target, kb, domain))}",
        f"because: {json.dumps(BECAUSE)}",
        f"source: [{{ref: {_source(kb)}, supports: {json.dumps(SUPPORTS)}}}]",
        f"grade: {{certainty: practice, note: {json.dumps(NOTE)}}}",
        "tests:",
        *([f"  loop: {element}"] if element else []),
        f"  given: {_flow(given)}",
        f"  expect: {_flow({_key(target, element): _expected(target, kb)})}",
        *(["  cases:"] if given else []),
        *[f"    - {_flow({'but': {key: 'unknown'}, 'fires': False})}" for key in given],
    ]
    return _HEAD + "\n".join(lines) + "\n"


def _key(fact: FactDeclaration, element: str | None) -> str:
    return fact.id if fact.index is None else f"{fact.id}[{element}]"


def _clause(fact: FactDeclaration, kb: KnowledgeBase, domain: str | None) -> dict[str, Any]:
    of = {"of": domain} if fact.index is not None else {}
    if fact.type is FactType.BOOLEAN:
        return {"fact": fact.id, **of, "equals": True}
    if fact.type is FactType.CHOICE:
        return {"fact": fact.id, **of, "equals": kb.book.choices_of(fact)[0]}
    if fact.type is FactType.CHOICES:
        return {"fact": fact.id, **of, "not_empty": True}
    return {"fact": fact.id, **of, "status": "known"}


def _conclusion(fact: FactDeclaration, kb: KnowledgeBase, domain: str | None) -> dict[str, Any]:
    of = {"of": domain} if fact.index is not None else {}
    if fact.combine is Combine.COLLECT:
        return {"add": fact.id, **of, "item": kb.book.choices_of(fact)[0]}
    if fact.type is FactType.BOOLEAN:
        return {"set": fact.id, **of, "to": True}
    if fact.type is FactType.CHOICE:
        return {"set": fact.id, **of, "to": kb.book.choices_of(fact)[0]}
    if fact.type in {FactType.NUMBER, FactType.INTEGER}:
        return {"set": fact.id, **of, "to": {"param": _number_for(fact, kb)}}
    text = f"`{fact.id}` is a {fact.type.value}; copy a rule that sets it and change that"
    raise InputProblems([Problem("--sets", "no-example", text)])


def _number_for(fact: FactDeclaration, kb: KnowledgeBase) -> str:
    for parameter in kb.parameters.values():
        if parameter.unit == fact.unit:
            return parameter.id
    text = f"no number in {fact.unit} is declared for `{fact.id}`; declare one in parameters/ first"
    raise InputProblems([Problem("--sets", "no-number", text)])


def _example(fact: FactDeclaration, kb: KnowledgeBase) -> Any:
    if fact.type is FactType.BOOLEAN:
        return True
    if fact.type is FactType.CHOICE:
        return kb.book.choices_of(fact)[0]
    if fact.type is FactType.CHOICES:
        return [kb.book.choices_of(fact)[0]]
    if fact.type is FactType.DATE:
        return "2026-06-01"
    if fact.type is FactType.TEXT:
        return "text"
    low, high = fact.range or (1.0, 1.0)
    return float(round((low + high) / 2))


def _expected(fact: FactDeclaration, kb: KnowledgeBase) -> Any:
    if fact.type in {FactType.NUMBER, FactType.INTEGER}:
        return kb.parameters[_number_for(fact, kb)].values[-1].value
    return _example(fact, kb)


def _source(kb: KnowledgeBase) -> str:
    """A source that claims least: judgement or common practice, if the book has one."""
    plain = [s.id for s in kb.sources.values() if s.mark in {Mark.JUDGEMENT, Mark.COMMON_PRACTICE}]
    return plain[0] if plain else next(iter(kb.sources), "name-a-source")


def _flow(value: Any) -> str:
    """YAML in flow form, with only the quotes it needs."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_name(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(each) for each in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:g}"
    text = str(value)
    return (
        text
        if text.replace("_", "").replace(".", "").isalnum() and not text[0].isdigit()
        else json.dumps(text)
    )


def _name(key: str) -> str:
    return json.dumps(key) if "[" in key else key
