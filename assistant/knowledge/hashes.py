"""Two fingerprints of a knowledge base: what can change a plan, and everything.

Both are taken from the checked models, so formatting, comments, the order of files and of fields
do not count. A decision table and the same rules written out have the same logic hash.
"""

from typing import Any

from assistant.model.base import Document
from assistant.model.chain import fingerprint
from assistant.model.knowledge import KnowledgeBase

_FACT_PROSE = {"label", "loinc", "decimals", "lever"}
_PARAMETER_LOGIC = {"id", "unit", "values", "range"}


def _plain(model: Document, include: set[str] | None = None) -> Any:
    return model.model_dump(mode="json", by_alias=True, exclude_none=True, include=include)


def _written(model: Document) -> Any:
    """A document as it stands in its file."""
    return model.model_dump(mode="json", by_alias=True, exclude_unset=True)


def logic_hash(kb: KnowledgeBase) -> str:
    """SHA-256 (hex) of all that can change a plan: stages, domains, facts, numbers, rules."""
    facts = {}
    for fact in kb.facts.values():
        plain = _plain(fact)
        if fact.default is not None:
            plain["default"] = plain["default"]["value"]
        facts[fact.id] = {name: v for name, v in plain.items() if name not in _FACT_PROSE}
    return fingerprint(
        {
            "stages": kb.book.stages,
            "domains": kb.book.domains,
            "facts": facts,
            "parameters": {p.id: _plain(p, _PARAMETER_LOGIC) for p in kb.parameters.values()},
            "rules": {r.id: r.logic for r in kb.rules.values()},
            # Translations say the same in other words; they cannot change a plan.
            # Who signed a claim changes no plan either.
            "documents": {s: _written(file) for s, file in kb.files.items() if s != "reviews"},
            "flags": {f.id: _written(f) for f in kb.flags.values()},
            "overlay": dict(kb.overlay),
        }
    )


def content_hash(kb: KnowledgeBase) -> str:
    """SHA-256 (hex) of everything: prose, sources, questions and tests too."""
    languages = {code: _written(language) for code, language in kb.languages.items()}
    how_to = {name: _written(file) for name, file in {**kb.how_to, **kb.how_to_said}.items()}
    poses = {name: _written(file) for name, file in kb.poses.items()}
    return fingerprint(
        {
            "book": _plain(kb.book),
            "facts": {f.id: _plain(f) for f in kb.facts.values()},
            "parameters": {
                p.id: _without_empty(_plain(p), "raises") for p in kb.parameters.values()
            },
            "rules": _written_rules(kb),
            "sources": {s.id: _plain(s) for s in kb.sources.values()},
            "grades": {g.id: _plain(g) for g in kb.grades.values()},
            "flags": {f.id: _without_empty(_plain(f), "evidence") for f in kb.flags.values()},
            "sections": [_plain(s) for s in kb.sections],
            "questions": [_plain(q) for q in kb.questions],
            **({"tick_lists": [_plain(each) for each in kb.tick_lists]} if kb.tick_lists else {}),
            **(
                {"typed_words": [_plain(each) for each in kb.typed_words]} if kb.typed_words else {}
            ),
            "documents": {
                **{stem: _written(file) for stem, file in kb.files.items()},
                **({"languages": languages} if languages else {}),
                **({"how_to": how_to} if how_to else {}),
                **({"poses": poses} if poses else {}),
            },
            "overlay": dict(kb.overlay),
            **(
                {"house": {name: _plain(each) for name, each in kb.house.items()}}
                if kb.house
                else {}
            ),
        }
    )


def _without_empty(plain: Any, name: str) -> Any:
    """A document as it was before a field was thought of, where it does not use the field."""
    if isinstance(plain, list):
        return [_without_empty(each, name) for each in plain]
    if not isinstance(plain, dict):
        return plain
    kept = ((key, value) for key, value in plain.items() if key != name or value)
    return {key: _without_empty(value, name) for key, value in kept}


def _written_rules(kb: KnowledgeBase) -> dict[str, Any]:
    """The rules of the book's own files. Those made from flags and facts follow from these documents."""
    makers = (*(f"flag:{each}" for each in kb.flags), *(f"fact:{each}" for each in kb.facts))
    made_from = {kb.places[maker].file for maker in makers}
    return {r.id: _plain(r) for r in kb.rules.values() if kb.places[r.id].file not in made_from}
