"""`rules/checkin.yaml` with the names of exercises and the numbers of a day, and what it makes of a record."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import fmean

from assistant.intake.quantities import plain_name
from assistant.knowledge.nearest import did_you_mean
from assistant.model.documents.checkin import (
    FAMILY,
    NUMBERS,
    CheckinDocument,
    MeasureWords,
    Range,
)
from assistant.model.entries import Measure
from assistant.model.history import History
from assistant.model.knowledge import KnowledgeBase


@dataclass(frozen=True)
class CheckinBook:
    """The check-in's document with the names of exercises, and its numbers in force on a day.

    exercises: name and id, tidied, to id. numbers: by the last part of the parameter's id.
    """

    document: CheckinDocument
    exercises: Mapping[str, str]
    exercise_names: Mapping[str, str]
    numbers: Mapping[str, float]

    def words(self, measure: Measure) -> MeasureWords:
        """Return what is known of a measure."""
        return self.document.measures[measure]

    def range_of(self, measure: Measure, detail: str = "") -> Range:
        """Return the allowed range of a measure, at a site where that has its own."""
        words = self.document.measures[measure]
        own = words.details[detail].range if detail in words.details else None
        return own or words.range

    def label(self, measure: Measure, detail: str = "") -> str:
        """Return the words for a measure: `waist girth`, `pain, knee`, `top set, Back squat`."""
        words = self.document.measures[measure]
        if measure == "girth_cm":
            return f"{detail.replace('_', ' ')} {words.label}"
        shown = self.exercise_names.get(detail, detail.replace("_", " "))
        return f"{words.label}, {shown}" if detail else words.label

    def exercise(self, typed: str) -> str | None:
        """Return the id of an exercise by name or id, or None."""
        return self.exercises.get(plain_name(typed))

    def nearest_exercise(self, typed: str) -> str:
        """Return a hint for an exercise that is not in the book."""
        wanted = plain_name(typed)
        inside = [name for key, name in self._by_name.items() if wanted and wanted in key]
        if inside:
            return "; did you mean " + ", ".join(f"`{name}`" for name in sorted(inside)[:4]) + "?"
        near = did_you_mean(wanted, self._by_name)
        return near or "; `rules/exercises.yaml` has all names"

    @property
    def _by_name(self) -> dict[str, str]:
        return {plain_name(name): name for name in self.exercise_names.values()}


def checkin_book(knowledge: KnowledgeBase, on: dt.date) -> CheckinBook:
    """Return the check-in's document with its numbers in force on a day.

    Raises InputProblems where it is missing.
    """
    document = knowledge.checkin
    names = {each.id: each.name for each in knowledge.exercises.exercises}
    by_name = {plain_name(name): exercise for exercise, name in names.items()}
    by_id = {plain_name(exercise): exercise for exercise in names}
    short = {plain_name(name): exercise for name, exercise in document.lift_names.items()}
    numbers = {name: knowledge.parameter_value(FAMILY + name, on).value for name in NUMBERS}
    return CheckinBook(document, {**short, **by_name, **by_id}, names, numbers)


# Sites of the record whose girth the intake asks for, too.
_ASKED_SITES = ("waist", "hip", "neck", "shoulder", "thigh")


def lately_measured(history: History, book: CheckinBook, on: dt.date) -> dict[str, float]:
    """Return the answers that what was measured up to a day may take the place of, in kg and cm."""
    numbers = book.numbers
    since = on - dt.timedelta(days=int(numbers["weight_days"]) - 1)
    weights = [row.weight_kg for row in history.weighings if since <= row.day <= on]
    measured: dict[str, float] = {}
    if len(weights) >= numbers["least_weighings"]:
        measured["client.weight_kg"] = round(fmean(weights), 2)
    since = on - dt.timedelta(days=int(numbers["girth_days"]) - 1)
    for girth in history.girths:  # in order of days: the last one stands
        if girth.site in _ASKED_SITES and since <= girth.day <= on:
            measured[f"client.{girth.site}_cm"] = girth.girth_cm
    return measured
