"""Codes, units and questions against what FHIR R4, LOINC and UCUM fix.

LOINC codes of vital signs: the R4 value set of vital signs (read); the rest second hand, as marked
in rules/sources/exchange.yaml. UCUM: grammar and atoms from the UCUM specification (from memory).
"""

import datetime as dt
import json
import re
from typing import Any

import pytest
from fhir.resources.R4B.observation import Observation
from fhir.resources.R4B.questionnaire import Questionnaire

from assistant.exchange.bundle import bundle, json_bytes
from assistant.exchange.bundle_reader import read_bundle
from assistant.exchange.measures import observations
from assistant.exchange.portable import Portable
from assistant.exchange.questionnaire import questionnaire
from assistant.exchange.terms import LOINC, UCUM, Json
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value

DAY = dt.date(2026, 1, 12)
BODY: dict[str, Value] = {
    "client.weight_kg": 63.5,
    "client.height_cm": 168.0,
    "client.waist_cm": 72.0,
    "client.waist_site": "navel",
    "screen.bp_systolic": 118.0,
    "screen.bp_diastolic": 76.0,
}


def _made(kb: KnowledgeBase, facts: dict[str, Value]) -> dict[str, Json]:
    found = observations(kb, facts, "urn:uuid:p", DAY, "urn:uuid:r")
    return {item["code"]["coding"][0]["code"]: item for item in found}


def test_measures_have_loinc_codes_and_ucum_units(kb: KnowledgeBase) -> None:
    found = _made(kb, BODY)
    assert set(found) == {"29463-7", "8302-2", "8280-0", "85354-9"}
    wanted = {"value": 63.5, "unit": "kg", "system": UCUM, "code": "kg"}
    assert found["29463-7"]["valueQuantity"] == wanted
    assert found["29463-7"]["category"][0]["coding"][0]["code"] == "vital-signs"
    parts = found["85354-9"]["component"]
    assert [part["code"]["coding"][0]["code"] for part in parts] == ["8480-6", "8462-4"]
    assert [part["valueQuantity"]["value"] for part in parts] == [118, 76]
    assert parts[0]["valueQuantity"]["code"] == "mm[Hg]"
    assert "valueQuantity" not in found["85354-9"]
    for item in found.values():
        Observation.model_validate(item)


@pytest.mark.parametrize(
    ("site", "code"),
    [("navel", "8280-0"), ("midway", "56115-9"), ("hip_bone", "56114-2"), ("narrowest", None),
     (Status.UNKNOWN, None)],
)  # fmt: skip
def test_a_waist_has_the_code_of_its_site_or_none(
    kb: KnowledgeBase, site: Value, code: str | None
) -> None:
    found = _made(kb, {"client.waist_cm": 72.0, "client.waist_site": site})
    assert set(found) == ({code} if code else set())


def test_what_has_no_number_has_no_observation(kb: KnowledgeBase) -> None:
    facts: dict[str, Value] = {**dict.fromkeys(BODY, Status.DECLINED), "screen.pregnant": True}
    assert _made(kb, facts) == {}


def test_every_code_is_a_loinc_code_with_a_source_and_agrees_with_the_fact(
    kb: KnowledgeBase,
) -> None:
    codes = kb.exchange.observations
    for code in codes:
        assert _has_right_check_digit(code.loinc)
        declaration = kb.facts[code.fact]
        assert declaration.type in {FactType.NUMBER, FactType.INTEGER}
        if not code.when:
            assert declaration.loinc in {None, code.loinc}
        assert code.category in {"vital-signs", "exam", "social-history"}
    coded = {code.fact for code in codes}
    # A yes/no fact with a code has no number to send.
    left = {fact.id for fact in kb.facts.values() if fact.loinc} - coded
    assert left == {"screen.pregnant"}


def _has_right_check_digit(code: str) -> bool:
    """LOINC numbers end in a mod-10 (Luhn) check digit (LOINC Users' Guide, from memory)."""
    number, _, check = code.partition("-")
    total = 0
    for place, digit in enumerate(reversed(number)):
        doubled = int(digit) * 2 if place % 2 == 0 else int(digit)
        total += doubled - 9 if doubled > 9 else doubled
    return str(-total % 10) == check


def test_every_unit_is_ucum(kb: KnowledgeBase) -> None:
    atoms = {"%", "kg", "g", "a", "mo", "wk", "d", "h", "min", "kcal", "cm", "m2", "mm[Hg]", "1"}
    for fact in kb.facts.values():
        if fact.origin == "answer" and fact.unit != "date":
            parts = re.split(r"[/.]", fact.unit)
            assert all(p in atoms or re.fullmatch(r"\{[a-z]+\}", p) for p in parts), fact.unit


def _items(items: list[Json]) -> list[Json]:
    return [leaf for item in items for leaf in (_items(item["item"]) if "item" in item else [item])]


def test_the_questionnaire_asks_every_question_once_but_one(kb: KnowledgeBase) -> None:
    made = questionnaire(kb, DAY)
    Questionnaire.model_validate(made)
    items = _items(made["item"])
    asked = [item["linkId"] for item in items]
    answerable = {fact.id for fact in kb.facts.values() if fact.origin == "answer"}
    assert len(asked) == len(set(asked))
    assert set(asked) == answerable - SESSION_ONLY_FACTS
    by_id: dict[str, Any] = {item["linkId"]: item for item in items}
    assert by_id["client.weight_kg"]["code"] == [{"system": LOINC, "code": "29463-7"}]
    assert by_id["client.weight_kg"]["type"] == "quantity"
    assert by_id["client.goal"]["repeats"] is False
    days = by_id["client.available_days"]
    assert days["repeats"] is True
    options = [option["valueCoding"]["code"] for option in days["answerOption"]]
    assert options == [*kb.book.domains["weekday"], "none-of-these"]
    stress = {e["url"].rsplit("/", 1)[1]: e for e in by_id["client.stress_1_to_5"]["extension"]}
    assert (stress["minValue"]["valueDecimal"], stress["maxValue"]["valueDecimal"]) == (1, 5)


def _measure(loinc: str, value: float, unit: str, day: str, status: str = "final") -> Json:
    return {
        "resource": {
            "resourceType": "Observation",
            "status": status,
            "code": {"coding": [{"system": LOINC, "code": loinc}]},
            "effectiveDateTime": day,
            "valueQuantity": {"value": value, "unit": unit, "system": UCUM, "code": unit},
        }
    }


def _read(kb: KnowledgeBase, *entries: Json) -> Portable:
    content = json.dumps({"resourceType": "Bundle", "type": "collection", "entry": entries})
    return read_bundle(content.encode(), "f.json", kb)


def test_measures_alone_make_answers_the_newest_first(kb: KnowledgeBase) -> None:
    found = _read(
        kb,
        _measure("29463-7", 70, "kg", "2025-11-02"),
        _measure("29463-7", 68.5, "kg", "2026-01-10T08:30:00Z"),
        _measure("29463-7", 99, "kg", "2026-02-01", status="entered-in-error"),
        _measure("8280-0", 80, "cm", "2026-01-10"),
        _measure("718-7", 13, "g/dL", "2026-01-10"),
        _measure("39156-5", 24, "kg/m2", "2026-01-10"),
    )
    wanted = {"client.waist_cm": 80, "client.waist_site": "navel", "client.weight_kg": 68.5}
    assert found.answers == wanted
    assert found.as_of == dt.date(2026, 1, 10)
    assert any("status is not" in line for line in found.left_out)


def test_answers_come_before_measures_and_later_measures_stay_out(kb: KnowledgeBase) -> None:
    sent = Portable("", DAY, {"client.weight_kg": 63.5})
    content = json.loads(json_bytes(bundle(kb, sent, "x", {})))
    content["entry"] += [
        _measure("29463-7", 61, "kg", "2025-06-01"),
        _measure("8302-2", 170, "cm", "2026-01-01"),
        _measure("8302-2", 171, "cm", "2026-03-01"),
    ]
    found = read_bundle(json.dumps(content).encode(), "f.json", kb)
    assert found.answers == {"client.height_cm": 170, "client.weight_kg": 63.5}
    assert any("taken after" in line for line in found.left_out)
