"""JSON Schema (2020-12) of the plan document, for programs that read plans.

Made from the rule book itself: every fact with its type, choices and unit. What it describes is
written by plan_json.py and programme_json.py; tests hold plans of every case against it.
"""

from typing import Any

from assistant.model.derivation import Holds
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Certainty
from assistant.report.programme_schema import programme_schema
from assistant.report.schema_parts import BOOLEAN, NUMBER, TEXT, choice, list_of, matching, record

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_DAY = {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}
_GRADE = choice(list(Certainty))
_DERIVATION_ID = matching(r"^d[1-9]\d*$")
_FACT_KEY = matching(r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+(\[[a-z0-9_]+\])?$")
_HASH = matching(r"^[0-9a-f]{64}$")
_PLAIN: dict[str, Any] = {
    "anyOf": [{"type": ["boolean", "number", "string", "null"]}, list_of({"type": "string"})]
}


def plan_schema(kb: KnowledgeBase) -> dict[str, Any]:
    """Return the schema of the plans that this rule book makes."""
    is_coach = {"properties": {"for": {"const": "coach"}}}
    coach = {
        "programme": {"anyOf": [{"type": "null"}, programme_schema(kb, for_coach=True)]},
        "derivations": list_of(_derivation(for_coach=True)),
    }
    client = {
        "programme": {"anyOf": [{"type": "null"}, programme_schema(kb, for_coach=False)]},
        "derivations": list_of(_derivation(for_coach=False)),
    }
    return {
        "$schema": DIALECT,
        "$id": f"{kb.exchange.base}/schema/plan-{kb.book.version}.json",
        "title": f"Plan made by {kb.book.name} {kb.book.version}",
        **record(
            {
                "case": TEXT,
                "as_of": _DAY,
                "for": choice(["coach", "client"]),
                "book": record({"version": TEXT, "logic_hash": _HASH, "content_hash": _HASH}),
                "engine": TEXT,
                "facts": _facts(kb),
                "sections": list_of(_section()),
                "derivations": True,
                "assumptions": list_of(_FACT_KEY),
                "unknown": list_of(_FACT_KEY),
                "programme": True,
            }
        ),
        "if": is_coach,
        "then": {"properties": coach},
        "else": {"properties": client},
    }


def _section() -> dict[str, Any]:
    line = record(
        {"id": TEXT, "text": TEXT, "facts": list_of(TEXT)}, {"reason": TEXT, "grade": _GRADE}
    )
    return record({"id": TEXT, "title": TEXT, "lines": list_of(line)}, {"note": TEXT})


def _facts(kb: KnowledgeBase) -> dict[str, Any]:
    single: dict[str, Any] = {}
    indexed: dict[str, Any] = {}
    for fact in kb.facts.values():
        if fact.origin != "derived":
            continue
        shape = _fact(_value(kb, fact), fact.unit)
        if fact.index is None:
            single[fact.id] = shape
        else:
            members = "|".join(kb.book.domains[fact.index])
            name = fact.id.replace(".", r"\.")
            indexed[rf"^{name}\[({members})\]$"] = shape
    single |= {name: _fact(value, "1") for name, value in _composites(kb).items()}
    return {
        "type": "object",
        "properties": dict(sorted(single.items())),
        "patternProperties": dict(sorted(indexed.items())),
        "additionalProperties": False,
    }


def _composites(kb: KnowledgeBase) -> dict[str, Any]:
    """Return the values of facts that the plan puts together (assistant/plan/views.py)."""
    facts, domains = kb.facts, kb.book.domains
    flag = record(
        {"id": choice(domains["flag"]), "severity": choice(facts["screen.level"].choices)}
    )
    urgency = choice(facts["screen.referral_urgency"].choices)
    days = dict.fromkeys(domains["weekday"], choice(facts["week.day_type"].choices))
    return {
        "screen.flags": list_of(flag),
        "screen.referrals": list_of(record({"to": choice(domains["role"]), "urgency": urgency})),
        "week.structure": record({}, days),
    }


def _fact(value: dict[str, Any], unit: str) -> dict[str, Any]:
    return record(
        {
            "value": value,
            "unit": {"const": unit},
            "grade": _GRADE,
            "derivation": {"anyOf": [{"type": "null"}, _DERIVATION_ID]},
        },
        {"low": NUMBER, "high": NUMBER, "method": TEXT, "derivations": list_of(_DERIVATION_ID)},
    )


def _value(kb: KnowledgeBase, fact: FactDeclaration) -> dict[str, Any]:
    options = fact.choices or kb.book.domains.get(fact.choice_domain or "", ())
    return {
        FactType.NUMBER: NUMBER,
        FactType.INTEGER: {"type": "integer"},
        FactType.BOOLEAN: BOOLEAN,
        FactType.CHOICE: choice(options),
        FactType.CHOICES: {**list_of(choice(options)), "uniqueItems": True},
        FactType.DATE: _DAY,
        FactType.TEXT: TEXT,
    }[fact.type]


def _derivation(*, for_coach: bool) -> dict[str, Any]:
    concluded = record({"fact": _FACT_KEY, "value": _PLAIN}, {"low": NUMBER, "high": NUMBER})
    fields: dict[str, Any] = {
        "id": _DERIVATION_ID,
        "rule": TEXT,
        "rule_hash": matching(r"^[0-9a-f]+$"),
        "binding": {"type": "object", "additionalProperties": TEXT},
        "because": TEXT,
        "conclusions": list_of(concluded),
        "rests_on": list_of(TEXT),
        "parameters": list_of(TEXT),
        "assumptions": list_of(_FACT_KEY),
        "sources": list_of(TEXT),
        "grade": _GRADE,
        "weakest": _GRADE,
    }
    return record({**fields, "readings": list_of(_reading())} if for_coach else fields)


def _reading() -> dict[str, Any]:
    said = record(
        {
            "fact": TEXT,
            "role": TEXT,
            "at": TEXT,
            "operator": TEXT,
            "want": _PLAIN,
            "have": _PLAIN,
            "holds": choice(list(Holds)),
        },
        {"margin": NUMBER},
    )
    hidden = record({"fact": TEXT, "role": TEXT, "left_out": {"const": True}})
    return {"anyOf": [said, hidden]}
