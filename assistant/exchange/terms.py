"""Names that FHIR R4 (4.0.1), LOINC and UCUM fix, and the ones of our own."""

import uuid
from collections.abc import Mapping
from typing import Any

from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status

Json = dict[str, Any]

LOINC = "http://loinc.org"
UCUM = "http://unitsofmeasure.org"
CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"
DATA_ABSENT = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
UNIT_OPTION = "http://hl7.org/fhir/StructureDefinition/questionnaire-unitOption"
EXCLUSIVE = "http://hl7.org/fhir/StructureDefinition/questionnaire-optionExclusive"
LOWEST = "http://hl7.org/fhir/StructureDefinition/minValue"
HIGHEST = "http://hl7.org/fhir/StructureDefinition/maxValue"

# `none` ("known not to exist") has no code among the standard's reasons, so it has a mark of ours.
ABSENT_CODES: Mapping[Status, str] = {
    Status.UNKNOWN: "unknown",
    Status.DECLINED: "asked-declined",
    Status.NOT_APPLICABLE: "not-applicable",
}
# What other programs may say instead; nothing here turns silence into an answer.
ABSENT_READ: Mapping[str, Status] = {
    **{code: status for status, code in ABSENT_CODES.items()},
    "asked-unknown": Status.UNKNOWN,
    "temp-unknown": Status.UNKNOWN,
    "not-asked": Status.UNKNOWN,
}
# Ids of choices hold no hyphen (model/facts.py), so this code is nobody's choice.
EMPTY_LIST = "none-of-these"

# Fixed for good, so that the same person and day keep their ids in every export.
_NAMESPACE = uuid.UUID("0b9e2f0c-2f57-5c1a-8a57-3c0f6f5d9a11")


def stable_id(*parts: str) -> str:
    """Return a UUID made of words alone: no clock, no chance."""
    return str(uuid.uuid5(_NAMESPACE, "\x1f".join(parts)))


def questionnaire_url(kb: KnowledgeBase) -> str:
    """Return the canonical address of our questionnaire, without its version."""
    return f"{kb.exchange.base}/Questionnaire/intake"


def none_url(kb: KnowledgeBase) -> str:
    """Return the extension that says a quantity is known not to exist."""
    return f"{kb.exchange.base}/StructureDefinition/known-not-to-exist"


def code_system(kb: KnowledgeBase, declaration: FactDeclaration) -> str:
    """Return the code system of a fact's choices; facts of one domain share one."""
    return f"{kb.exchange.base}/CodeSystem/{declaration.choice_domain or declaration.id}"


def item_type(declaration: FactDeclaration) -> str:
    """Return the type of a questionnaire item for a fact."""
    if declaration.type in {FactType.NUMBER, FactType.INTEGER} and declaration.unit != "1":
        return "quantity"
    return {
        FactType.NUMBER: "decimal",
        FactType.INTEGER: "integer",
        FactType.BOOLEAN: "boolean",
        FactType.CHOICE: "choice",
        FactType.CHOICES: "choice",
        FactType.DATE: "date",
        FactType.TEXT: "string",
    }[declaration.type]


def plain_number(value: float) -> int | float:
    """Return a number as JSON people write it: 63 rather than 63.0."""
    return int(value) if float(value).is_integer() else float(value)


def quantity(value: float, unit: str) -> Json:
    """Return a Quantity in a UCUM unit."""
    return {"value": plain_number(value), "unit": unit, "system": UCUM, "code": unit}
