"""What an unanswered safety question raises: a rule for every fact with a tier."""

from collections.abc import Iterator, Mapping
from typing import Any

from assistant.knowledge.flag_rules import FOUND, STAGE, filled, rests_on
from assistant.model.documents.screen_words import ScreenWords
from assistant.model.facts import FactDeclaration, FactType


def silence_rules(
    facts: Mapping[str, FactDeclaration], words: ScreenWords
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield for every fact with a tier its id and the raw rule of its silence."""
    said = words.unanswered
    for fact in facts.values():
        if fact.tier is None or fact.tier == "free":
            continue
        silence = said.tiers[fact.tier]
        cases = [
            {"but": {fact.id: "declined"}, "fires": True},
            {"but": {fact.id: "not_applicable"}, "fires": False},
            {"but": {fact.id: _some_value(fact)}, "fires": False},
        ]
        yield (
            fact.id,
            {
                "id": f"UNA-{fact.id.partition('.')[2].upper().replace('.', '_')}",
                "title": "A safety question without an answer",
                "stage": STAGE,
                "when": [{"fact": fact.id, "status": "unanswered"}],
                "then": [{"add": FOUND, "item": silence.flag}],
                "because": filled(silence.because, {"label": fact.label}),
                "client_because": silence.client_because,
                **rests_on(said.source, said.grade),
                "tests": {
                    "given": {fact.id: "unknown"},
                    "expect": {FOUND: [silence.flag]},
                    "cases": cases,
                },
            },
        )


def _some_value(fact: FactDeclaration) -> Any:
    """A clear answer to a question, of the right type."""
    if fact.type is FactType.CHOICES:
        return []
    if fact.type is FactType.BOOLEAN:
        return False
    if fact.allows_none:
        return "none"
    if fact.type is FactType.CHOICE:
        return fact.choices[0]
    assert fact.range is not None  # the model asks for one where people type a number
    return fact.range[0]
