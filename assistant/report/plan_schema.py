"""JSON Schema (2020-12) of the plan document, for programs that read plans.

The shape is that of the models the plan is written through; the rule book adds every fact with its type,
choices and unit, and the words its days, muscles and flags go by.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue, models_json_schema
from pydantic_core import core_schema

from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.report.plan_models import ClientPlan, CoachPlan

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_NUMBER: dict[str, Any] = {"type": "number"}
_TEXT: dict[str, Any] = {"type": "string"}


class _Bare(GenerateJsonSchema):
    """Without titles made from names, and without the default of a field that may be left out."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        """No field is titled after its name."""
        del schema
        return False

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """A field that may be left out is never null."""
        return self.generate_inner(schema["schema"])


def plan_schema(kb: KnowledgeBase) -> dict[str, Any]:
    """Return the schema of the plans that this rule book makes."""
    _, made = models_json_schema(
        [(CoachPlan, "validation"), (ClientPlan, "validation")], schema_generator=_Bare
    )
    parts = made["$defs"]
    domains = kb.book.domains
    session, muscle = parts["Session"]["properties"], parts["MuscleWeek"]["properties"]
    session |= {
        "day": _choice(domains["weekday"]),
        "type": _choice(kb.facts["week.day_type"].choices),
    }
    muscle["muscle"] = _choice(domains["muscle"])
    facts = _facts(kb, parts.pop("Fact"))
    for plan in (CoachPlan, ClientPlan):
        parts[plan.__name__]["properties"]["facts"] = facts
    return {
        "$schema": DIALECT,
        "$id": f"{kb.exchange.base}/schema/plan-{kb.book.version}.json",
        "title": f"Plan made by {kb.book.name} {kb.book.version}",
        "type": "object",
        "if": {"properties": {"for": {"const": "coach"}}},
        "then": {"$ref": f"#/$defs/{CoachPlan.__name__}"},
        "else": {"$ref": f"#/$defs/{ClientPlan.__name__}"},
        "$defs": parts,
    }


def _facts(kb: KnowledgeBase, fact_part: Mapping[str, Any]) -> dict[str, Any]:
    def shaped(value: dict[str, Any], unit: str) -> dict[str, Any]:
        own = {"value": value, "unit": {"const": unit}}
        return {**fact_part, "properties": fact_part["properties"] | own}

    single: dict[str, Any] = {}
    indexed: dict[str, Any] = {}
    for fact in kb.facts.values():
        if fact.origin != "derived":
            continue
        shape = shaped(_value(kb, fact), fact.unit)
        if fact.index is None:
            single[fact.id] = shape
        else:
            members = "|".join(kb.book.domains[fact.index])
            name = fact.id.replace(".", r"\.")
            indexed[rf"^{name}\[({members})\]$"] = shape
    single |= {name: shaped(value, "1") for name, value in _composites(kb).items()}
    return {
        "type": "object",
        "properties": dict(sorted(single.items())),
        "patternProperties": dict(sorted(indexed.items())),
        "additionalProperties": False,
    }


def _composites(kb: KnowledgeBase) -> dict[str, Any]:
    """Return the values of facts that the plan puts together (assistant/plan/views.py)."""
    facts, domains = kb.facts, kb.book.domains
    flag = {"id": _choice(domains["flag"]), "severity": _choice(facts["screen.level"].choices)}
    referral = {
        "to": _choice(domains["role"]),
        "urgency": _choice(facts["screen.referral_urgency"].choices),
    }
    days = dict.fromkeys(domains["weekday"], _choice(facts["week.day_type"].choices))
    return {
        "screen.flags": _list_of(_record(flag)),
        "screen.referrals": _list_of(_record(referral)),
        "week.structure": {**_record(days), "required": []},
    }


def _value(kb: KnowledgeBase, fact: FactDeclaration) -> dict[str, Any]:
    options = kb.book.choices_of(fact)
    return {
        FactType.NUMBER: _NUMBER,
        FactType.INTEGER: {"type": "integer"},
        FactType.BOOLEAN: {"type": "boolean"},
        FactType.CHOICE: _choice(options),
        FactType.CHOICES: {**_list_of(_choice(options)), "uniqueItems": True},
        FactType.DATE: {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"},
        FactType.TEXT: _TEXT,
    }[fact.type]


def _record(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": dict(fields),
        "required": list(fields),
        "additionalProperties": False,
    }


def _list_of(item: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": item}


def _choice(options: Iterable[str]) -> dict[str, Any]:
    return {"enum": [str(option) for option in options]}
