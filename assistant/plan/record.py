"""A client's record as facts of a run: settings from the rule book, findings to facts."""

import datetime as dt
from dataclasses import replace

from assistant.measure import Findings, Person, Settings, measure
from assistant.model.case import Case
from assistant.model.history import History
from assistant.model.knowledge import KnowledgeBase


def measure_settings(kb: KnowledgeBase, on: dt.date) -> Settings:
    """Return the settings of the measurements in force on a day."""
    return Settings.from_parameters(
        {name: kb.parameter_value(name, on).value for name in Settings.names()}
    )


def findings_of(kb: KnowledgeBase, case: Case, history: History, on: dt.date) -> Findings | None:
    """Return what a client's record tells on a day; None where it holds nothing yet.

    Where the record does not say when weight was answered, it was on the day of the case.
    """
    answered_on = history.weight_answered_on or case.as_of
    weight, fat = case.answers.get("client.weight_kg"), case.answers.get("client.body_fat_percent")
    if isinstance(weight, bool) or not isinstance(weight, int | float):
        weight = history.weighings[0].weight_kg if history.weighings else 0.0
        answered_on = dt.date.min
    known = isinstance(fat, int | float) and not isinstance(fat, bool)
    fat_mass = weight * float(fat) / 100.0 if known else None  # type: ignore[arg-type]
    person = Person(float(weight), fat_mass, answered_on)
    history = replace(history, away=case.week.away)
    return measure(history, on, person, measure_settings(kb, on))
