"""Measures as FHIR R4 Observations with LOINC codes and UCUM units, and back."""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from assistant.exchange.terms import CATEGORY, LOINC, Json, quantity, stable_id
from assistant.model.documents.exchange import Code
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value


def observations(
    kb: KnowledgeBase, facts: Mapping[str, Value], person: str, as_of: dt.date, derived_from: str
) -> list[Json]:
    """Return an Observation for each measure with a code and a number; a panel holds its parts.

    facts: answers and shown conclusions by fact. person, derived_from: what the measures refer to.
    """
    held = [
        code
        for code in kb.exchange.observations
        if _is_number(facts.get(code.fact))
        and all(facts.get(fact) == value for fact, value in code.when.items())
    ]
    found: list[Json] = []
    for name in dict.fromkeys(code.panel or code.loinc for code in held):
        members = [code for code in held if (code.panel or code.loinc) == name]
        parts = [
            {
                "code": _concept(code.loinc, code.display),
                "valueQuantity": quantity(_number(facts[code.fact]), kb.facts[code.fact].unit),
            }
            for code in members
        ]
        concept = parts[0]["code"]
        if members[0].panel is not None:
            concept = _concept(name, kb.exchange.panels[name])
            value: Json = {"component": parts}
        else:
            value = {"valueQuantity": parts[0]["valueQuantity"]}
        about = {"derivedFrom": [{"reference": derived_from}], **value}
        found.append(observation(person, as_of, concept, members[0].category, about))
    return found


def observation(person: str, day: dt.date, concept: Json, category: str, about: Json) -> Json:
    """Return one Observation of a person on a day. `about`: its value and what else it says."""
    return {
        "resourceType": "Observation",
        "id": stable_id(person, "observation", concept["coding"][0]["code"], day.isoformat()),
        "status": "final",
        "category": [{"coding": [{"system": CATEGORY, "code": category}]}],
        "code": concept,
        "subject": {"reference": person},
        "effectiveDateTime": day.isoformat(),
        **about,
    }


def measured(resource: Json) -> Iterator[tuple[str, Any]]:
    """Yield LOINC code and raw Quantity of an Observation and of its components."""
    parts = resource.get("component")
    for part in (resource, *(parts if isinstance(parts, list) else ())):
        if isinstance(part, dict) and "valueQuantity" in part:
            for code in _loinc_codes(part.get("code")):
                yield code, part["valueQuantity"]


def _loinc_codes(concept: Any) -> Iterator[str]:
    codings = concept.get("coding") if isinstance(concept, dict) else None
    for coding in codings if isinstance(codings, list) else ():
        if isinstance(coding, dict) and coding.get("system") == LOINC:
            yield str(coding.get("code"))


def loinc_concept(code: Code) -> Json:
    """Return what a measure is called."""
    return _concept(code.loinc, code.display)


def _concept(code: str, display: str) -> Json:
    return {"coding": [{"system": LOINC, "code": code, "display": display}], "text": display}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number(value: object) -> float:
    assert isinstance(value, int | float)
    return float(value)
