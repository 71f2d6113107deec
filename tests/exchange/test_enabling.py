"""`enableWhen` of the questionnaire, read by the words of FHIR R4 and held against what the intake asks.

Operators (value set questionnaire-enable-operator, R4 4.0.1, read in a copy): `exists` asks whether there is an
answer; `!=` holds where no answer is equal, so without any answer, too; the rest need one that compares so
(R4 prints "no answer" for the orders, too, a slip mended in the current text).
"""

import datetime as dt
import operator
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from lengths import at_length

from assistant.casefiles import read_case
from assistant.exchange.answer_items import answer_item
from assistant.exchange.questionnaire import questionnaire
from assistant.exchange.terms import Json
from assistant.intake.asking import applies
from assistant.intake.form import Form, form_of
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value
from assistant.quality.people import People

DAY = dt.date(2026, 1, 12)
ROOT = Path(__file__).parents[2]
SIGNS = {"=": operator.eq, ">": operator.gt, "<": operator.lt, ">=": operator.ge, "<=": operator.le}


def _value(answer: Json, prefix: str) -> Any:
    (found,) = [value for name, value in answer.items() if name.startswith(prefix)]
    if isinstance(found, dict):
        return found.get("code") if "value" not in found else found["value"]
    return found


def _holds(condition: Json, answers: Mapping[str, list[Any]]) -> bool:
    given = answers.get(condition["question"], [])
    wanted = _value(condition, "answer")
    if condition["operator"] == "exists":
        return bool(given) is wanted
    if condition["operator"] == "!=":
        return wanted not in given
    return any(SIGNS[condition["operator"]](each, wanted) for each in given)


def _shown(items: list[Json], answers: Mapping[str, list[Any]]) -> Iterator[str]:
    for item in items:
        if "item" in item:
            yield from _shown(item["item"], answers)
            continue
        conditions = [_holds(each, answers) for each in item.get("enableWhen", [])]
        assert len(conditions) < 2 or "enableBehavior" in item  # que-12 of the standard
        enough = any if item.get("enableBehavior") == "any" else all
        if not conditions or enough(conditions):
            yield item["linkId"]


def _asked(form: Form, given: Mapping[str, Value]) -> tuple[dict[str, Value], set[str]]:
    """Return what stands answered, and what is asked, where no tick list stands in front."""
    settled: dict[str, Value] = {}
    wanted: set[str] = set()
    for slot in form.slots:
        if slot.leads_to:
            continue
        if not applies(slot.question.ask_if, settled, form.parameters):
            settled[slot.fact] = Status(slot.question.otherwise)
            continue
        wanted.add(slot.fact)
        if slot.fact in given:
            settled[slot.fact] = given[slot.fact]
    return settled, wanted


def _compared(kb: KnowledgeBase, count: int) -> tuple[Counter[str], int]:
    """Hold everybody's shown questions against the asked ones; return the ones shown beyond, and to how many."""
    bases = [read_case(path, kb).answers for path in sorted((ROOT / "cases").glob("*.yaml"))]
    made, form, people = questionnaire(kb, DAY)["item"], form_of(kb, DAY), People(kb, DAY, bases)
    every = [item for group in made for item in group["item"]]
    beyond: Counter[str] = Counter()
    hidden = 0
    for seed in range(2 * count):
        given: dict[str, Value] = people.person(seed // 2)
        exact = seed % 2 == 0
        if exact:
            # "Does not apply" and "there is none" are answers without a value, so FHIR takes them for none.
            given = {k: v for k, v in given.items() if not isinstance(v, Status)}
        settled, wanted = _asked(form, given)
        answers = {
            fact: [_value(each, "value") for each in answer_item(kb, fact, value).get("answer", [])]
            for fact, value in settled.items()
            if fact in wanted and not isinstance(value, Status) and fact not in SESSION_ONLY_FACTS
        }
        shown = set(_shown(made, answers))
        assert wanted - SESSION_ONLY_FACTS <= shown, f"person {seed}"
        beyond.update(shown - wanted if exact else ())
        hidden += len(shown) < len(every)
    return beyond, hidden


def _whoever_is_asked_is_shown(kb: KnowledgeBase, count: int) -> None:
    beyond, hidden = _compared(kb, count)
    assert hidden == 2 * count
    # Each has a comparison of numbers that would need "or no answer" beside what else must hold.
    assert set(beyond) <= {
        "screen.first_period_absent",
        "screen.low_desire",
        "screen.birth_by_section",
    }


def test_whoever_is_asked_is_shown_the_question(kb: KnowledgeBase) -> None:
    _whoever_is_asked_is_shown(kb, 60)


@pytest.mark.slow
def test_whoever_is_asked_is_shown_the_question_in_the_long_run(kb: KnowledgeBase) -> None:
    _whoever_is_asked_is_shown(kb, at_length(2000, 500))


def test_every_condition_is_translated_or_its_question_stays(kb: KnowledgeBase) -> None:
    made = [item for group in questionnaire(kb, DAY)["item"] for item in group["item"]]
    conditional = {question.fact for question in kb.questions if question.ask_if}
    assert {item["linkId"] for item in made if "enableWhen" in item} == conditional
    order = [item["linkId"] for item in made]
    for item in made:
        for condition in item.get("enableWhen", []):
            assert order.index(condition["question"]) < order.index(item["linkId"])


def test_silence_hides_no_safety_question(kb: KnowledgeBase) -> None:
    """Nobody has answered anything: whatever the intake would then ask is shown."""
    form = form_of(kb, DAY)
    _, wanted = _asked(form, {})
    shown = set(_shown(questionnaire(kb, DAY)["item"], {}))
    assert wanted - SESSION_ONLY_FACTS <= shown
    assert "screen.pregnancy_warning_sign" in shown
