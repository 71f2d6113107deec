"""`rules/checkin.yaml` in shape: measures, what is asked about twice, questions."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from assistant.intake.quantities import tidy
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.shapes import reshape
from assistant.model.base import Document
from assistant.model.entries import MEASURES, Measure
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Section

FILE = "rules/checkin.yaml"
Range = tuple[float, float]
# What a question is asked once for: everybody whom the client has still to see.
Each = Literal["open_referral"]
Reads = Literal[
    "pains", "weights", "girths", "eating", "sleep", "days", "sessions", "top_sets"
]  # fmt: skip


class Detail(Document):
    """A site, or a joint, that a measure is taken at."""

    range: Range | None = None
    columns: tuple[str, ...] = ()


class MeasureWords(Document):
    """What is known of a measure. words: what may be written instead of a number."""

    label: str
    range: Range
    quantity: Annotated[str, Field(pattern="^(mass|length|energy|duration_h)$")] | None = None
    unit: str = ""
    whole: bool = False
    held_back_by: tuple[str, ...] = ()
    details: dict[str, Detail] = {}
    words: dict[str, float] = {}
    columns: tuple[str, ...] = ()


class Setting(Document):
    """A number a coach may change, with its grounds."""

    value: float
    unit: str = "1"
    allowed: Range
    source: str
    mark: Literal["read", "second_hand", "from_memory", "judgement", "common_practice"]
    grade: Literal["strong", "moderate", "low", "practice"]
    why: str = ""


class Doubts(Document):
    """When an allowed value is asked about once more."""

    weight_jump_percent: Setting
    weight_jump_days: Setting
    girth_jump_cm: Setting
    girth_jump_days: Setting
    top_set_jump_percent: Setting
    gross_percent: Setting
    days_back: Setting


class Screening(Document):
    """When safety questions come back, beside the dates of flags."""

    all_again_weeks: Setting
    open_again_weeks: Setting


class Ask(Document):
    """Safety questions that come back while a flag of the record stands.

    again_weeks: that long after they were answered last; 0 is at the next check-in.
    """

    flags: tuple[str, ...]
    facts: tuple[str, ...]
    again_weeks: Setting


class Asks(Document):
    """What the record makes us ask. strong_pain: until each of its questions is answered clear."""

    strong_pain: Ask
    low_mood: Ask

    @property
    def all(self) -> tuple[Ask, ...]:
        """Every kind."""
        return (self.strong_pain, self.low_mood)


class TakesOver(Document):
    """When what was measured takes the place of an older answer."""

    weight_days: Setting
    least_weighings: Setting
    girth_days: Setting


class CheckinQuestion(Document):
    """One question of the guided check-in. It has `measure` and `labels`, or `reads`.

    values: what is kept for each label, where that is not 1, 2, 3 and so on. detail: the site or sign
    of the measure. while_flags: asked only while one of these flags stands. each: asked once for
    everybody of a kind; `{who}` in the wording names them.
    """

    id: str
    section: str
    coach: str
    self: str
    why: str
    help: str | None = None
    reads: Reads | None = None
    measure: Measure | None = None
    detail: str = ""
    labels: tuple[str, ...] = ()
    values: tuple[float, ...] = ()
    while_flags: tuple[str, ...] = ()
    each: Each | None = None
    only_for: Literal["female", "male"] | None = None


class CheckinDocument(Document):
    """The whole file."""

    schema_version: Literal[1]
    sources: dict[str, str]
    measures: dict[str, MeasureWords]
    columns: dict[str, tuple[str, ...]]
    repetitions: tuple[int, int]
    reserve: Range
    lift_names: dict[str, str] = {}
    doubts: Doubts
    screening: Screening
    asks: Asks
    takes_over: TakesOver
    looks_back_days: Setting
    sections: tuple[Section, ...]
    questions: tuple[CheckinQuestion, ...]


@dataclass(frozen=True)
class CheckinBook:
    """The check-in's document with the names of exercises. exercises: name and id, tidied, to id."""

    document: CheckinDocument
    exercises: Mapping[str, str]
    exercise_names: Mapping[str, str]

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

    def askable(self, knowledge: KnowledgeBase) -> tuple[str, ...]:
        """Return the safety answers that a question asks for, in the book's order."""
        return tuple(
            question.fact
            for question in knowledge.questions
            if knowledge.facts[question.fact].tier in {"A", "B", "C"}
        )

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


def plain_name(text: str) -> str:
    """Return a name without case, underscores and hyphens, for comparing."""
    return re.sub(r"[\s_-]+", " ", tidy(text)).strip()


def checkin_book(knowledge: KnowledgeBase) -> CheckinBook:
    """Return the check-in's document. Raises InputProblems where it is missing or wrong."""
    raw = knowledge.documents.get("checkin")
    if raw is None:
        text = "the rule book has no checkin.yaml; copy it from the shipped rules"
        raise InputProblems([Problem(FILE, "missing-file", text)])
    made = reshape(CheckinDocument, raw, lambda path: ":".join((FILE, ".".join(map(str, path)))))
    if isinstance(made, list):
        raise InputProblems(made)
    problems = [*_faults(made), *_unknown_names(made, knowledge)]
    if problems:
        raise InputProblems(problems)
    exercises = knowledge.documents.get("exercises", {}).get("exercises", [])
    names = {each["id"]: each["name"] for each in exercises}
    by_name = {plain_name(name): exercise for exercise, name in names.items()}
    by_id = {plain_name(exercise): exercise for exercise in names}
    short = {plain_name(name): exercise for name, exercise in made.lift_names.items()}
    unknown = [
        name for name, exercise in made.lift_names.items() if names and exercise not in names
    ]
    if unknown:
        text = f"`{unknown[0]}` stands for an exercise that is not in exercises.yaml"
        raise InputProblems([Problem(f"{FILE}:lift_names", "unknown-exercise", text)])
    return CheckinBook(made, {**short, **by_name, **by_id}, names)


def _faults(document: CheckinDocument) -> list[Problem]:
    found = [
        Problem(f"{FILE}:measures", "unknown-measure", f"`{name}` is no measure of the record")
        for name in document.measures
        if name not in MEASURES
    ]
    found += [
        Problem(f"{FILE}:measures", "missing-field", f"the measure `{name}` has no entry")
        for name in MEASURES
        if name not in document.measures
    ]
    settings = {
        **dict(document.doubts),
        **dict(document.screening),
        **dict(document.takes_over),
        "asks.strong_pain.again_weeks": document.asks.strong_pain.again_weeks,
        "asks.low_mood.again_weeks": document.asks.low_mood.again_weeks,
        "looks_back_days": document.looks_back_days,
    }
    for name, setting in settings.items():
        low, high = setting.allowed
        if not low <= setting.value <= high:
            text = f"`{name}` is {setting.value:g}; allowed: {low:g} to {high:g}"
            found.append(Problem(f"{FILE}:{name}", "out-of-range", text))
        if setting.source not in document.sources:
            text = f"`{setting.source}` is not under `sources`"
            found.append(Problem(f"{FILE}:{name}", "unknown-source", text))
    known = {section.id for section in document.sections}
    for question in document.questions:
        place = f"{FILE}:questions.{question.id}"
        if question.section not in known:
            found.append(
                Problem(place, "unknown-section", f"`{question.section}` is not a section")
            )
        if (question.reads is None) == (question.measure is None):
            found.append(Problem(place, "bad-value", "a question has `reads` or `measure`"))
        if question.values and len(question.values) != len(question.labels):
            found.append(Problem(place, "bad-value", "`values` has one number for each label"))
    return found


def _unknown_names(document: CheckinDocument, knowledge: KnowledgeBase) -> list[Problem]:
    """Return the flags and facts named here that the rule book does not have."""
    flags = set(knowledge.book.domains.get("flag", ()))
    asked = {question.fact for question in knowledge.questions}
    named = [(f"asks.{ask.flags[0]}", flag) for ask in document.asks.all for flag in ask.flags]
    named += [
        (f"questions.{question.id}", flag)
        for question in document.questions
        for flag in question.while_flags
    ]
    found = [
        Problem(
            f"{FILE}:{place}", "unknown-flag", f"`{flag}` is no flag{did_you_mean(flag, flags)}"
        )
        for place, flag in named
        if flag not in flags
    ]
    found += [
        Problem(f"{FILE}:asks", "unknown-fact", f"`{fact}` is asked by no question")
        for ask in document.asks.all
        for fact in ask.facts
        if fact not in asked
    ]
    return found
