"""A small invented form for the tests of the intake, and texts that answer its questions."""

import datetime as dt
import json
from pathlib import Path
from typing import Any

from assistant.intake.form import Form, form_of
from assistant.model.book import Book
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.questions import Question, Section

AS_OF = dt.date(2026, 1, 12)
CRISIS = "screen.self_harm_thoughts"

_FACTS: list[dict[str, Any]] = [
    {"id": "client.sex_for_equations", "label": "sex for equations", "type": "choice",
     "choices": ["female", "male"]},
    {"id": "client.age_years", "label": "age", "type": "number", "unit": "a", "range": [10, 100]},
    {"id": "client.height_cm", "label": "height", "type": "number", "unit": "cm",
     "range": [120, 220]},
    {"id": "client.weight_kg", "label": "body weight", "type": "number", "unit": "kg",
     "range": [30, 250]},
    {"id": "client.goal_weight_kg", "label": "goal weight", "type": "number", "unit": "kg",
     "range": [30, 250], "allows_none": True},
    {"id": "screen.guardian_agrees", "label": "guardian agrees", "type": "boolean", "tier": "free"},
    {"id": "screen.pregnant", "label": "pregnant", "type": "boolean", "tier": "A"},
    {"id": "screen.medicines", "label": "medicines", "type": "choices", "tier": "C",
     "choices": ["statin", "insulin", "water_tablets"]},
    {"id": "screen.severe_low_sugar_last_24h", "label": "low sugar in the last day",
     "type": "boolean", "tier": "free"},
    {"id": "screen.months_without_period", "label": "months without a period", "type": "number",
     "unit": "mo", "range": [0, 600], "tier": "B"},
    {"id": "screen.bp_systolic", "label": "upper pressure", "type": "number", "unit": "mm[Hg]",
     "range": [60, 260], "tier": "free", "allows_none": True},
    {"id": "screen.bp_diastolic", "label": "lower pressure", "type": "number", "unit": "mm[Hg]",
     "range": [30, 160], "tier": "free", "allows_none": True},
    {"id": "screen.trains_when_hurt_or_ill", "label": "trains when hurt or ill", "type": "boolean",
     "tier": "B"},
    {"id": "screen.thyroid", "label": "thyroid", "type": "choice", "tier": "C",
     "choices": ["treated_stable", "uncontrolled"], "allows_none": True},
    {"id": "client.available_days", "label": "free days", "type": "choices",
     "choice_domain": "weekday"},
    {"id": "client.minutes_per_session", "label": "minutes a session", "type": "integer",
     "unit": "min", "range": [15, 180]},
    {"id": "client.intake_kcal_per_day", "label": "eaten a day", "type": "number",
     "unit": "kcal/d", "range": [800, 8000]},
    {"id": "client.sleep_hours", "label": "sleep", "type": "number", "unit": "h",
     "range": [2, 14]},
    {"id": "client.target_date", "label": "target day", "type": "date", "unit": "date",
     "allows_none": True},
    {"id": CRISIS, "label": "thoughts of self-harm", "type": "boolean", "tier": "free"},
]  # fmt: skip
_NAMED_ANSWERS = ("screen.trains_when_hurt_or_ill", "screen.thyroid")
_FEMALE = {"fact": "client.sex_for_equations", "equals": "female"}
_QUESTIONS: list[dict[str, Any]] = [
    {"fact": "client.sex_for_equations", "section": "body"},
    {"fact": "client.age_years", "section": "body"},
    {"fact": "client.height_cm", "section": "body", "quantity": "length"},
    {"fact": "client.weight_kg", "section": "body", "quantity": "mass"},
    {"fact": "client.goal_weight_kg", "section": "body", "quantity": "mass"},
    {"fact": "screen.guardian_agrees", "section": "safety", "may_decline": True,
     "ask_if": [{"fact": "client.age_years", "less_than": {"param": "screen.adult_age"}}]},
    {"fact": "screen.pregnant", "section": "safety", "ask_if": [_FEMALE], "may_decline": True},
    {"fact": "screen.months_without_period", "section": "safety", "ask_if": [_FEMALE],
     "may_decline": True},
    {"fact": "screen.medicines", "section": "safety", "may_decline": True},
    {"fact": "screen.severe_low_sugar_last_24h", "section": "safety", "may_decline": True,
     "ask_if": [{"fact": "screen.medicines", "has": "insulin"}]},
    {"fact": "screen.bp_systolic", "section": "safety"},
    {"fact": "screen.bp_diastolic", "section": "safety"},
    {"fact": "screen.trains_when_hurt_or_ill", "section": "safety", "may_decline": True,
     "labels": {"false": "I rest", "true": "I train anyway"}},
    {"fact": "screen.thyroid", "section": "safety", "labels": {"none": "No trouble"}},
    {"fact": "client.available_days", "section": "week",
     "labels": {"mon": "Monday", "tue": "Tuesday", "wed": "Wednesday"}},
    {"fact": "client.minutes_per_session", "section": "week", "quantity": "duration_min",
     "suggestion": 60.0},
    {"fact": "client.intake_kcal_per_day", "section": "week", "quantity": "energy"},
    {"fact": "client.sleep_hours", "section": "week", "quantity": "duration_h"},
    {"fact": "client.target_date", "section": "week"},
    {"fact": CRISIS, "section": "wellbeing", "may_decline": True,
     "closing": "Help is there day and night."},
]  # fmt: skip

# A plain, acceptable answer for every question, in metric units.
CLEAR_TEXT = {
    "client.sex_for_equations": "female",
    "client.age_years": "31",
    "client.height_cm": "165",
    "client.weight_kg": "63.5",
    "client.goal_weight_kg": "none",
    "screen.guardian_agrees": "yes",
    "screen.pregnant": "no",
    "screen.months_without_period": "0",
    "screen.medicines": "none",
    "screen.severe_low_sugar_last_24h": "no",
    "screen.bp_systolic": "118",
    "screen.bp_diastolic": "76",
    "screen.trains_when_hurt_or_ill": "I rest",
    "screen.thyroid": "no trouble",
    "client.available_days": "mon, wed, fri",
    "client.minutes_per_session": "60",
    "client.intake_kcal_per_day": "2100",
    "client.sleep_hours": "7.5",
    "client.target_date": "none",
    CRISIS: "no",
}


def small_knowledge() -> KnowledgeBase:
    """A knowledge base with questions and no rules."""
    questions = [
        Question.model_validate(
            {"coach": f"Coach asks about {q['fact']}", "self": f"I am asked about {q['fact']}",
             "why": f"{q['fact']} changes the plan", **q},
            strict=False,
        )
        for q in _QUESTIONS
    ]  # fmt: skip
    facts = [
        FactDeclaration.model_validate({"origin": "answer", **fact}, strict=False)
        for fact in _FACTS
    ]
    adult = Parameter.model_validate(
        {"id": "screen.adult_age", "title": "first adult birthday", "unit": "a", "step": 1,
         "values": [{"since": "2026-01-01", "value": 18}], "range": [16, 21],
         "source": [{"ref": "invented", "supports": "nothing"}],
         "grade": {"certainty": "practice", "note": "invented"}},
        strict=False,
    )  # fmt: skip
    week = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    return KnowledgeBase(
        book=Book(name="Small", version="0.0.1", stages=("screen",), domains={"weekday": week}),
        facts={fact.id: fact for fact in facts},
        parameters={adult.id: adult},
        rules={},
        sources={},
        grades={},
        sections=tuple(
            Section(id=each, title=each.title(), intro_coach=f"About {each}.")
            for each in ("body", "safety", "week", "wellbeing")
        ),
        questions=tuple(questions),
        files={},
        languages={},
        places={},
        logic_hash="",
        content_hash="",
    )


def small_form() -> Form:
    """The form of the small knowledge base."""
    return form_of(small_knowledge(), AS_OF)


def write_small_book(folder: Path) -> Path:
    """Write the small knowledge base as the files of a rule book; JSON is YAML too.

    Leaves out the questions whose answers have names of their own: pure tests cover those.
    """
    parameter = small_knowledge().parameters["screen.adult_age"].model_dump(mode="json")
    files: dict[str, Any] = {
        "book.yaml": small_knowledge().book.model_dump(mode="json"),
        "grades.yaml": {"grades": [{"id": each, "meaning": f"how sure: {each}"} for each in
                                   ("strong", "moderate", "low", "practice")]},
        "sources/all.yaml": {"sources": [{"id": "invented", "kind": "judgement", "citation": "none",
                                          "says": "nothing", "mark": "judgement"}]},
        "parameters/all.yaml": {"parameters": [parameter]},
        "facts/all.yaml": {"facts": [{"origin": "answer", **fact} for fact in _FACTS
                                       if fact["id"] not in _NAMED_ANSWERS]},
        "questions/00_sections.yaml": {
            "sections": [each.model_dump(mode="json", exclude_none=True)
                         for each in small_knowledge().sections]
        },
        "questions/10_all.yaml": {
            "questions": [{"coach": f"Coach asks about {q['fact']}",
                           "self": f"I am asked about {q['fact']}",
                           "why": f"{q['fact']} changes the plan", **q} for q in _QUESTIONS
                          if q["fact"] not in _NAMED_ANSWERS]
        },
    }  # fmt: skip
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(content, indent=2), encoding="utf-8")
    return folder
