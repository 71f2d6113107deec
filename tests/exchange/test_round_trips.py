"""What goes out comes back: 200 generated people through FHIR and CSV, every case through all forms.

Outside checks: FHIR resources as `fhir.resources` reads them. It has no R4 of its own; R4B (4.3.0)
is the nearest, and in it Questionnaire, QuestionnaireResponse, Observation, Patient and Bundle are
R4's. `second_validator.sh` in this folder holds the R4 (4.0.1) definitions against every case.
CSV is read back by Python's csv module as RFC 4180 has it.
"""

import csv
import dataclasses
import io
import json
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from hypothesis import given
from hypothesis import strategies as st
from people import somebody

from assistant.casefiles import read_case
from assistant.exchange.answers_csv import answers_csv, guarded, read_answers_csv, unguarded
from assistant.exchange.bundle import bundle, json_bytes
from assistant.exchange.bundle_reader import read_bundle
from assistant.exchange.portable import Portable, case_json, portable
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml"))
PEOPLE = 200


def _resources(content: bytes) -> list[dict[str, Any]]:
    return [entry["resource"] for entry in json.loads(content)["entry"]]


@pytest.mark.parametrize("people", [40, pytest.param(PEOPLE, marks=pytest.mark.slow)])
def test_people_come_back_equal(kb: KnowledgeBase, people: int) -> None:
    facts: set[str] = set()
    kinds: set[object] = set()
    for number in range(people):
        sent = somebody(kb, number)
        content = json_bytes(bundle(kb, sent, "somebody", {}))
        back = read_bundle(content, "file.json", kb)
        assert (back.name, back.as_of, back.answers) == (sent.name, sent.as_of, sent.answers)
        assert not back.left_out
        table = answers_csv(kb, sent)
        again = read_answers_csv(table, "file.csv", kb)
        assert (again.name, again.as_of, again.answers) == (sent.name, sent.as_of, sent.answers)
        # And what was read goes out again the same.
        assert bundle(kb, back, "somebody", {}) == bundle(kb, sent, "somebody", {})
        assert answers_csv(kb, again) == table
        facts |= set(sent.answers)
        kinds |= {
            v if isinstance(v, Status | bool) or v == () else type(v) for v in sent.answers.values()
        }
    answerable = {fact.id for fact in kb.facts.values() if fact.origin == "answer"}
    assert facts == answerable - SESSION_ONLY_FACTS
    assert kinds == {*Status, True, False, (), tuple, str, float}


@pytest.mark.parametrize("number", range(0, PEOPLE, 10))
def test_generated_people_are_valid_fhir(kb: KnowledgeBase, number: int) -> None:
    content = json_bytes(bundle(kb, somebody(kb, number), "somebody", {}))
    read = Bundle.model_validate_json(content)
    assert json.loads(read.model_dump_json()) == json.loads(
        content
    )  # nothing is dropped or changed


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_case_comes_back_from_every_form(
    kb: KnowledgeBase, path: Path, tmp_path: Path
) -> None:
    case = read_case(path, kb)
    sent = portable(case, with_name=True)
    assert set(case.answers) - set(sent.answers) <= SESSION_ONLY_FACTS
    for back in (
        read_bundle(json_bytes(bundle(kb, sent, case.name, {})), "f.json", kb),
        read_answers_csv(answers_csv(kb, sent), "f.csv", kb),
    ):
        assert (back.name, back.as_of, back.answers) == (case.name, case.as_of, sent.answers)
    as_json = tmp_path / "case.json"
    as_json.write_bytes(json_bytes(case_json(case, portable(case, with_name=True, whole=True))))
    whole = read_case(as_json, kb)
    bare = dataclasses.replace(case, answers=sent.answers, expect={}, expect_reasons={})
    assert whole == bare


def test_every_way_of_having_no_value_survives(kb: KnowledgeBase) -> None:
    fact = "client.body_fat_percent"
    for status in Status:
        sent = Portable("", read_case(CASES[0], kb).as_of, {fact: status})
        item = _resources(json_bytes(bundle(kb, sent, "x", {})))[2]["item"][0]["item"][0]
        (extension,) = item["extension"]
        if status is Status.NONE:
            assert extension["url"].endswith("known-not-to-exist")
        else:
            # HL7's own list of reasons (CodeSystem data-absent-reason, R4).
            words = {"unknown": "unknown", "declined": "asked-declined"}
            assert extension["valueCode"] == words.get(status.value, "not-applicable")
        assert "answer" not in item


def test_what_stays_at_home_is_said_and_is_in_no_file(kb: KnowledgeBase) -> None:
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    sent = portable(case, with_name=False)
    assert len(sent.left_out) == 3
    for content in (
        json_bytes(bundle(kb, sent, case.name, {})),
        answers_csv(kb, sent),
        json_bytes(case_json(case, sent)),
    ):
        text = content.decode()
        assert "self_harm" not in text
        assert "Ines" not in text
        assert "Farrow" not in text
    whole = dataclasses.replace(case, week=dataclasses.replace(case.week, likes=("rdl_dumbbell",)))
    assert "wishes for the week" in portable(whole, with_name=True).left_out
    assert "wishes for the week" not in portable(whole, with_name=True, whole=True).left_out


def test_the_name_stands_with_the_person_alone(kb: KnowledgeBase) -> None:
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    resources = _resources(json_bytes(bundle(kb, portable(case, with_name=True), case.name, {})))
    holders = [r["resourceType"] for r in resources if "Farrow" in json.dumps(r)]
    assert holders == ["Patient"]
    person = next(r["id"] for r in resources if r["resourceType"] == "Patient")
    told = [r["subject"]["reference"] for r in resources if "subject" in r]
    assert set(told) == {f"urn:uuid:{person}"}


@given(st.text())
def test_no_cell_is_run_as_a_formula_and_none_is_changed(text: str) -> None:
    assert guarded(text)[:1] not in set("=+-@\t\r")
    assert unguarded(guarded(text)) == text


def test_the_table_is_what_spreadsheets_read(kb: KnowledgeBase) -> None:
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    content = answers_csv(kb, portable(case, with_name=True))
    assert content.startswith(b"\xef\xbb\xbf")
    rows = {r["fact"]: r for r in csv.DictReader(io.StringIO(content.decode("utf-8-sig")))}
    assert (rows["client.weight_kg"]["value"], rows["client.weight_kg"]["unit"]) == ("63.5", "kg")
    assert rows["client.available_days"]["value"] == "mon; sat; thu; tue"
    assert rows["client.priority_muscles"]["value"] == "[]"
    assert rows["screen.purging_symptoms"]["value"] == "not_applicable"
