"""The questions of the rule book as a FHIR R4 Questionnaire."""

import datetime as dt
from collections.abc import Iterator

from assistant.exchange.enabling import enabling
from assistant.exchange.terms import (
    EMPTY_LIST,
    EXCLUSIVE,
    HIGHEST,
    LOINC,
    LOWEST,
    UCUM,
    UNIT_OPTION,
    Json,
    code_system,
    item_type,
    plain_number,
    questionnaire_url,
    stable_id,
)
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Question
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.plan.phrases import Phrasebook


def questionnaire(kb: KnowledgeBase, on: dt.date) -> Json:
    """Return all questions, grouped by section, in their order, and when each is asked on a day.

    The question about self-harm is left out: it is asked face to face and its answer is in no
    file.
    """
    url = questionnaire_url(kb)
    return {
        "resourceType": "Questionnaire",
        "id": stable_id(url),
        "url": url,
        "version": kb.book.version,
        "name": "WhyplanIntake",
        "title": kb.exchange.title,
        "status": "active",
        "subjectType": ["Patient"],
        "item": [
            {"linkId": section, "text": title, "type": "group", "item": items}
            for section, title, items in _groups(kb, on)
        ],
    }


def section_of(kb: KnowledgeBase) -> dict[str, str]:
    """Return the section each answerable fact is asked in, in the order of the questions."""
    order = [section.id for section in kb.sections]
    asked = sorted(kb.questions, key=lambda question: order.index(question.section))
    return {q.fact: q.section for q in asked if q.fact not in SESSION_ONLY_FACTS}


def _groups(kb: KnowledgeBase, on: dt.date) -> Iterator[tuple[str, str, list[Json]]]:
    questions = {question.fact: question for question in kb.questions}
    sections = section_of(kb)
    for section in kb.sections:
        items = [
            _item(kb, questions[fact], on)
            for fact, where in sections.items()
            if where == section.id
        ]
        if items:
            yield section.id, section.title, items


def _item(kb: KnowledgeBase, question: Question, on: dt.date) -> Json:
    declaration = kb.facts[question.fact]
    item: Json = {"linkId": question.fact, "text": question.self, "type": item_type(declaration)}
    if declaration.loinc is not None:
        item["code"] = [{"system": LOINC, "code": declaration.loinc}]
    item |= enabling(kb, question, on)
    extensions = _limits(declaration)
    if item["type"] == "quantity":
        unit = {"system": UCUM, "code": declaration.unit, "display": declaration.unit}
        extensions.append({"url": UNIT_OPTION, "valueCoding": unit})
    if extensions:
        item["extension"] = extensions
    if item["type"] == "choice":
        item["repeats"] = declaration.type is FactType.CHOICES
        item["answerOption"] = _options(kb, question, declaration)
    return item


def _limits(declaration: FactDeclaration) -> list[Json]:
    """Return lowest and highest value; the standard's extensions fit decimals and integers."""
    kind = item_type(declaration)
    if declaration.range is None or kind not in {"decimal", "integer"}:
        return []
    name = f"value{kind.capitalize()}"
    low, high = declaration.range
    return [
        {"url": LOWEST, name: plain_number(low)},
        {"url": HIGHEST, name: plain_number(high)},
    ]


def _options(kb: KnowledgeBase, question: Question, declaration: FactDeclaration) -> list[Json]:
    phrases = Phrasebook(kb)
    system = code_system(kb, declaration)
    choices = kb.book.choices_of(declaration)
    options: list[Json] = [
        {
            "valueCoding": {
                "system": system,
                "code": choice,
                "display": question.labels.get(choice) or phrases.label(choice, declaration.id),
            }
        }
        for choice in choices
    ]
    if declaration.type is FactType.CHOICES:
        none = {"system": system, "code": EMPTY_LIST, "display": "None of these"}
        options.append(
            {"extension": [{"url": EXCLUSIVE, "valueBoolean": True}], "valueCoding": none}
        )
    return options
