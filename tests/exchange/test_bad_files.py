"""Files that are wrong are refused with one clear line for each fault, and nothing is made of them."""

import json
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.casefiles import read_case
from assistant.exchange.answers_csv import answers_csv, read_answers_csv
from assistant.exchange.bundle import bundle, json_bytes
from assistant.exchange.bundle_reader import read_bundle
from assistant.exchange.portable import portable
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def good(kb: KnowledgeBase) -> bytes:
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    return json_bytes(bundle(kb, portable(case, with_name=True), case.name, {}))


@pytest.fixture(scope="module")
def table(kb: KnowledgeBase) -> bytes:
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    return answers_csv(kb, portable(case, with_name=True))


def _codes(caught: pytest.ExceptionInfo[InputProblems], place: str) -> list[str]:
    for problem in caught.value.problems:
        assert problem.place.startswith(place)
        assert "\n" not in str(problem)
        assert len(str(problem)) < 700
    return [problem.code for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "bad-json"),
        (b"{", "bad-json"),
        (b"\xff\xfe", "bad-encoding"),
        (b'{"a": 1, "a": 2}', "repeated-field"),
        (b'{"resourceType": NaN}', "bad-value"),
        (b'{"a": 1e999}', "bad-value"),
        (b"[" * 5000 + b"]" * 5000, "too-deep"),
        (b"[" * 100 + b"]" * 100, "too-deep"),
        (b'{"a": ' + b"9" * 5000 + b"}", "bad-json"),
        (b"[]", "not-fhir"),
        (b"null", "not-fhir"),
        (b'{"resourceType": "Patient"}', "not-fhir"),
        (b'{"resourceType": "Bundle"}', "nothing-found"),
        (b'{"resourceType": "Bundle", "entry": [{}]}', "not-fhir"),
        (b'{"resourceType": "Bundle", "entry": [{"resource": {"resourceType": 4}}]}', "not-fhir"),
        (b'{"resourceType": "QuestionnaireResponse"}', "other-questionnaire"),
    ],
)  # fmt: skip
def test_what_is_no_fhir_of_ours(kb: KnowledgeBase, content: bytes, code: str) -> None:
    with pytest.raises(InputProblems) as caught:
        read_bundle(content, "f.json", kb)
    assert _codes(caught, "f.json") == [code]


def _damaged(good: bytes, fact: str, item: dict[str, Any]) -> bytes:
    document = json.loads(good)
    response = document["entry"][2]["resource"]
    for group in response["item"]:
        for old in group["item"]:
            if old["linkId"] == fact:
                old.clear()
                old.update(item)
                return json.dumps(document).encode()
    raise AssertionError(fact)


WEIGHT, GOAL, DAYS = "client.weight_kg", "client.goal", "client.available_days"
_KG = {"value": 63.5, "system": "http://unitsofmeasure.org", "code": "kg"}
_DAR = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"


@pytest.mark.parametrize(
    ("fact", "item", "code", "words"),
    [
        (WEIGHT, {"answer": [{"valueQuantity": _KG | {"code": "[lb_av]"}}]}, "wrong-unit", "[lb_av]"),
        (WEIGHT, {"answer": [{"valueQuantity": {"value": 63.5, "unit": "kg"}}]}, "wrong-unit", "kg"),
        (WEIGHT, {"answer": [{"valueQuantity": _KG | {"value": "63"}}]}, "bad-type", "63"),
        (WEIGHT, {"answer": [{"valueQuantity": _KG | {"value": True}}]}, "bad-type", "true"),
        (WEIGHT, {"answer": [{"valueQuantity": _KG | {"comparator": ">"}}]}, "bad-value", "exact"),
        (WEIGHT, {"answer": [{"valueQuantity": _KG | {"value": 635}}]}, "out-of-range", "250"),
        (WEIGHT, {"answer": [{"valueDecimal": 63.5}]}, "bad-type", "valueQuantity"),
        (WEIGHT, {"answer": "63.5"}, "bad-type", "list"),
        (WEIGHT, {"answer": [{"valueQuantity": _KG}, {"valueQuantity": _KG}]}, "two-values", "one"),
        (WEIGHT, {"extension": [{"url": _DAR, "valueCode": "error"}]}, "bad-value", "asked-declined"),
        (WEIGHT, {"extension": {"url": _DAR}}, "bad-type", "extension"),
        (WEIGHT, {"extension": [{"url": _DAR, "valueCode": "unknown"}],
                  "answer": [{"valueQuantity": _KG}]}, "two-values", "reason"),
        (GOAL, {"answer": [{"valueCoding": {"code": "gain_muscles"}}]}, "unknown-choice", "gain_muscle"),
        (GOAL, {"answer": [{"valueCoding": {"system": "http://x", "code": "maintain"}}]}, "other-codes",
         "http://x"),
        (GOAL, {"answer": [{"valueCoding": {"display": "Maintain"}}]}, "bad-type", "code"),
        (DAYS, {"answer": [{"valueCoding": {"code": "mon"}}, {"valueCoding": {"code": "none-of-these"}}]},
         "bad-value", "none-of-these"),
        (DAYS, {"answer": [{"valueCoding": {"code": "mon"}}] * 2}, "repeated-item", "mon"),
        ("screen.pregnant", {"answer": [{"valueBoolean": "no"}]}, "bad-type", "no"),
        ("screen.pregnant", {"answer": [{"valueInteger": 0}]}, "bad-type", "valueBoolean"),
        ("client.target_date", {"answer": [{"valueDate": "2026-02-30"}]}, "bad-value", "2026-02-30"),
        ("client.stress_1_to_5", {"answer": [{"valueDecimal": 9}]}, "out-of-range", "5"),
    ],
)  # fmt: skip
def test_an_item_that_is_wrong(
    kb: KnowledgeBase, good: bytes, fact: str, item: dict[str, Any], code: str, words: str
) -> None:
    with pytest.raises(InputProblems) as caught:
        read_bundle(_damaged(good, fact, {"linkId": fact, **item}), "f.json", kb)
    assert code in _codes(caught, "f.json: Bundle.entry[")
    assert fact in str(caught.value)
    assert words in str(caught.value)


def test_unknown_questions_and_facts_that_are_worked_out(kb: KnowledgeBase, good: bytes) -> None:
    for fact in ("client.wieght_kg", "body.bmi", "context.as_of"):
        with pytest.raises(InputProblems) as caught:
            read_bundle(_damaged(good, WEIGHT, {"linkId": fact}), "f.json", kb)
        assert "unknown-fact" in _codes(caught, "f.json: ")
        assert f"`{fact}` is no question of ours" in str(caught.value)


def test_two_answers_to_one_question_and_two_people(kb: KnowledgeBase, good: bytes) -> None:
    document = json.loads(good)
    group = document["entry"][2]["resource"]["item"][0]
    group["item"].append(group["item"][0])
    with pytest.raises(InputProblems) as caught:
        read_bundle(json.dumps(document).encode(), "f.json", kb)
    assert "two-values" in _codes(caught, "f.json: ")
    document = json.loads(good)
    document["entry"].append(document["entry"][2])
    with pytest.raises(InputProblems) as caught:
        read_bundle(json.dumps(document).encode(), "f.json", kb)
    assert _codes(caught, "f.json") == ["several-people"]


def test_a_measure_that_contradicts_the_answers(kb: KnowledgeBase, good: bytes) -> None:
    changed = good.replace(b'"value": 63.5,', b'"value": 64.5,', 1)
    assert changed != good
    with pytest.raises(InputProblems) as caught:
        read_bundle(changed, "f.json", kb)
    assert _codes(caught, "f.json: ") == ["two-values"]


def _junk(chance: random.Random) -> Any:
    plain = [None, True, False, chance.randint(-5, 5), "", "x\n", "\u00e4\u0000", [], {}, 1e300]
    return chance.choice([*plain, [chance.choice(plain) for _ in range(chance.randint(1, 2))]])


def test_damaged_files_never_crash_the_reader(kb: KnowledgeBase, good: bytes) -> None:
    """Any node of the answers replaced by anything: answers, or problems a person can read."""
    chance, refused = random.Random(4711), 0
    for _ in range(150):
        document = json.loads(good)
        document["entry"] = document["entry"][2:]  # the questions are passed over anyway
        node: Any = document
        while True:
            key = chance.choice(list(node) if isinstance(node, dict) else list(range(len(node))))
            inner = node[key]
            if not isinstance(inner, dict | list) or not inner or chance.randrange(5) == 0:
                break
            node = inner
        node[key] = _junk(chance)
        problems = _problems(json.dumps(document).encode(), kb)
        assert all("\n" not in problem for problem in problems)
        refused += bool(problems)
    assert 50 < refused < 150


def _problems(content: bytes, kb: KnowledgeBase) -> list[str]:
    try:
        read_bundle(content, "f.json", kb)
    except InputProblems as error:
        return [str(problem) for problem in error.problems]
    return []


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("client.weight_kg,63.5,kg", "client.weight_kg,63.5,lb", "wrong-unit"),
        ("client.weight_kg,63.5,kg", 'client.weight_kg,"63,5",kg', "bad-value"),
        ("client.weight_kg,63.5,kg", "client.weight_kg,heavy,kg", "bad-type"),
        ("client.weight_kg,63.5,kg", "client.weight_kg,635,kg", "out-of-range"),
        ("client.weight_kg,63.5,kg", "client.wieght_kg,63.5,kg", "unknown-fact"),
        ("client.weight_kg,63.5,kg", "body.bmi,22,kg/m2", "not-an-answer"),
        ("client.weight_kg,63.5,kg", "client.age_years,31,a", "two-values"),
        ("client.weight_kg,63.5,kg", "client.weight_kg,nan,kg", "bad-type"),
        ("client.weight_kg,63.5,kg,body weight", "client.weight_kg,63.5,kg,body weight,x", "bad-row"),
        ("screen.pregnant,no", "screen.pregnant,perhaps", "bad-type"),
        ("client.goal,gain_muscle", "client.goal,gain_muscles", "unknown-choice"),
        ("client.available_days,mon; sat", "client.available_days,sat; sat", "repeated-item"),
        ("client.target_date,2026-08-01", "client.target_date,01/08/2026", "bad-type"),
        ("as_of,2026-01-12", "as_of,12.1.2026", "bad-value"),
        ("fact,value", "fakt,value", "bad-columns"),
        ("fact,value,unit", "fact,value,value", "bad-columns"),
    ],
)  # fmt: skip
def test_a_row_that_is_wrong(
    kb: KnowledgeBase, table: bytes, old: str, new: str, code: str
) -> None:
    text = table.decode("utf-8-sig")
    assert old in text
    with pytest.raises(InputProblems) as caught:
        read_answers_csv(text.replace(old, new, 1).encode(), "f.csv", kb)
    assert code in _codes(caught, "f.csv")
    number = text[: text.index(old)].count("\n") + 1
    assert f"f.csv:{number}" in {problem.place for problem in caught.value.problems}


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("as_of,2026-01-12,date,day of the answers\r\n", "", "missing-field"),
        ("client.weight_kg,63.5", 'client.weight_kg,"63.5', "bad-csv"),
    ],
)
def test_a_table_that_is_wrong_as_a_whole(
    kb: KnowledgeBase, table: bytes, old: str, new: str, code: str
) -> None:
    with pytest.raises(InputProblems) as caught:
        read_answers_csv(table.decode("utf-8-sig").replace(old, new, 1).encode(), "f.csv", kb)
    assert _codes(caught, "f.csv")[:1] == [code]


def test_tables_of_other_spreadsheets(kb: KnowledgeBase) -> None:
    rows = "Fact;Value\nas_of;2026-01-12\nclient.weight_kg;63,5\nclient.height_cm;168\n;\nscreen.pregnant;TRUE\n"
    found = read_answers_csv(rows.encode(), "f.csv", kb)
    wanted = {"client.height_cm": 168, "client.weight_kg": 63.5, "screen.pregnant": True}
    assert found.answers == wanted
    tabs = rows.replace(";", "\t").replace("63,5", "63.5").replace("\n", "\r\n")
    assert read_answers_csv(tabs.encode(), "f.csv", kb).answers == wanted
    with pytest.raises(InputProblems, match="two ways"):
        read_answers_csv(rows.replace("63,5", "63,500").encode(), "f.csv", kb)


@settings(max_examples=100, deadline=None)
@given(content=st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes_are_refused_or_read(kb: KnowledgeBase, content: bytes) -> None:
    for read in (read_answers_csv, read_bundle):
        with pytest.raises(InputProblems) as caught:
            read(content, "f", kb)
        assert caught.value.problems
