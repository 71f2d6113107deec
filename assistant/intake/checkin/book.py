"""`rules/checkin.yaml` with the names of exercises and the numbers of a day, and what it makes of a record."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import fmean

from assistant.intake.quantities import plain_name
from assistant.intake.speech import Sentence, Speech
from assistant.knowledge.nearest import closest
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

    exercises: name and id, tidied, to id. numbers: by the last part of the parameter's id. speech: the
    language it is asked in.
    """

    document: CheckinDocument
    exercises: Mapping[str, str]
    exercise_names: Mapping[str, str]
    numbers: Mapping[str, float]
    speech: Speech = field(default_factory=Speech)

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
        shown = self.exercise_names.get(detail) or self.speech.name(detail)
        if measure == "girth_cm":
            return self.speech.say("{place} {measure}", place=shown, measure=words.label)
        return f"{words.label}, {shown}" if detail else words.label

    def exercise(self, typed: str) -> str | None:
        """Return the id of an exercise by name or id, or None."""
        return self.exercises.get(self.speech.meant(plain_name(typed)))

    def no_such_exercise(self, typed: str) -> Sentence:
        """Return what is told of an exercise that is not in the book, with the nearest names."""
        wanted = plain_name(typed)
        near = sorted(name for key, name in self._by_name.items() if wanted and wanted in key)[:4]
        near = near or closest(wanted, self._by_name)
        if not near:
            told = "`{typed}` is not in the book; `rules/exercises.yaml` has all names"
            return Sentence(told, {"typed": typed})
        names = ", ".join(f"`{name}`" for name in near)
        told = "`{typed}` is not in the book; did you mean {names}?"
        return Sentence(told, {"typed": typed, "names": names})

    @property
    def _by_name(self) -> dict[str, str]:
        return {plain_name(name): name for name in self.exercise_names.values()}


def checkin_book(knowledge: KnowledgeBase, on: dt.date) -> CheckinBook:
    """Return the check-in's document with its numbers in force on a day.

    Raises InputProblems where it is missing.
    """
    document = knowledge.checkin
    names = {each.id: each.name for each in knowledge.exercises.exercises}
    spoken = knowledge.spoken.exercises if knowledge.spoken is not None else {}
    by_name = {
        plain_name(name): exercise for each in (names, spoken) for exercise, name in each.items()
    }
    by_id = {plain_name(exercise): exercise for exercise in names}
    short = {plain_name(name): exercise for name, exercise in document.lift_names.items()}
    numbers = {name: knowledge.parameter_value(FAMILY + name, on).value for name in NUMBERS}
    exercises = {**short, **by_name, **by_id}
    shown = {**names, **spoken}
    return CheckinBook(document, exercises, shown, numbers, Speech(knowledge.spoken))


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
