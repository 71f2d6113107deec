"""The whole knowledge base after load: immutable, cross-checked, with its two hashes."""

import dataclasses
import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Generic, Self, TypeVar, cast, overload

from assistant.model.base import RuleFile
from assistant.model.book import Book
from assistant.model.chain import fingerprint
from assistant.model.documents.attention import Attention
from assistant.model.documents.calendar import CalendarWords
from assistant.model.documents.checkin import CheckinDocument
from assistant.model.documents.checking import CheckSettings
from assistant.model.documents.exchange import Exchange
from assistant.model.documents.exercises import ExerciseBook
from assistant.model.documents.figures import Figures
from assistant.model.documents.flags import Flag
from assistant.model.documents.how_to import HowToFile, HowToSaidFile
from assistant.model.documents.limits import LimitBook
from assistant.model.documents.message import MessageDocument
from assistant.model.documents.muscles import MuscleBook
from assistant.model.documents.overrides import Overrides
from assistant.model.documents.page import PlanLayout
from assistant.model.documents.poses import Pose, PoseFile
from assistant.model.documents.programme import WRITTEN
from assistant.model.documents.proportions import Proportions
from assistant.model.documents.reviews import Review, Reviews
from assistant.model.documents.screen_words import ScreenWords
from assistant.model.documents.wording import Wording
from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import FactDeclaration
from assistant.model.house import Signed
from assistant.model.language import Language
from assistant.model.marks import placeholders
from assistant.model.parameters import Change, DatedValue, Parameter
from assistant.model.questions import Question, Section, TickList, TypedWords
from assistant.model.rules import Rule
from assistant.model.sources import GradeMeaning, Mark, Source, SourceUse

Model = TypeVar("Model", bound=RuleFile)
_STATEMENT_DIGITS = 12


@dataclass(frozen=True, order=True)
class Place:
    """Where in `rules/` something stands; `line` counts from 1."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


class File(Generic[Model]):
    """A file of the book, read as a model.

    stem: its name without the ending. empty: the fields that a book without the file has instead;
    None where the file says something needful.
    """

    def __init__(
        self, stem: str, model: type[Model], empty: Mapping[str, Any] | None = None
    ) -> None:
        self.stem = stem
        self.model = model
        self.empty = empty

    @overload
    def __get__(self, kb: None, owner: type[object]) -> Self: ...
    @overload
    def __get__(self, kb: "KnowledgeBase", owner: type[object]) -> Model: ...
    def __get__(self, kb: "KnowledgeBase | None", owner: type[object]) -> "Self | Model":
        """Return the file's model. Raises InputProblems where a needful file is not there."""
        if kb is None:
            return self
        made = kb.files.get(self.stem)
        if isinstance(made, self.model):
            return made
        if self.empty is None:
            text = f"the rule book has no {self.stem}.yaml; copy it from the shipped rules"
            raise InputProblems([Problem(f"rules/{self.stem}.yaml", "missing-file", text)])
        return cast("Model", self.model.model_construct(**self.empty))


@dataclass(frozen=True)
class KnowledgeBase:
    """Everything in `rules/`, by id, in the order of ids.

    overlay: a coach's own parameter values (parameter id -> value) within the allowed range.
    signed: who set such a value, when and why, as far as it was written down.
    files: the documents named below, by file stem. languages: by code. flags: by id.
    how_to: how exercises are done, by movement pattern; how_to_said: the same in other languages, by
    code and pattern, e.g. `de/squat`.
    spoken: the language that what a client reads is said in; None is English.
    poses: by movement pattern.
    house: what a gym's own folder laid over the book and who answers for it, by name as in `places`; asleep: what
    of the folder is not in force, by id.
    logic_hash changes when a plan can change; content_hash also with prose, sources and tests.
    """

    book: Book
    facts: Mapping[str, FactDeclaration]
    parameters: Mapping[str, Parameter]
    rules: Mapping[str, Rule]
    sources: Mapping[str, Source]
    grades: Mapping[str, GradeMeaning]
    sections: tuple[Section, ...]
    questions: tuple[Question, ...]
    files: Mapping[str, RuleFile]
    languages: Mapping[str, Language]
    places: Mapping[str, Place]
    logic_hash: str
    content_hash: str
    overlay: Mapping[str, float] = field(default_factory=dict)
    signed: Mapping[str, Change] = field(default_factory=dict)
    flags: Mapping[str, Flag] = field(default_factory=dict)
    how_to: Mapping[str, HowToFile] = field(default_factory=dict)
    how_to_said: Mapping[str, HowToSaidFile] = field(default_factory=dict)
    spoken: Language | None = None
    poses: Mapping[str, PoseFile] = field(default_factory=dict)
    tick_lists: tuple[TickList, ...] = ()
    typed_words: tuple[TypedWords, ...] = ()
    house: Mapping[str, Signed] = field(default_factory=dict)
    asleep: Mapping[str, Signed] = field(default_factory=dict)

    attention = File("attention", Attention)
    calendar = File("calendar", CalendarWords)
    check = File("check", CheckSettings, {})
    checkin = File("checkin", CheckinDocument)
    exchange = File("exchange", Exchange)
    exercises = File("exercises", ExerciseBook, {"exercises": ()})
    figures = File("figures", Figures)
    limits = File("limits", LimitBook)
    message = File("message", MessageDocument)
    muscles = File("muscles", MuscleBook)
    overrides = File("overrides", Overrides, {})
    plan = File("plan", PlanLayout)
    programme = File("programme", WRITTEN)
    reviews = File("reviews", Reviews, {})
    proportions = File("proportions", Proportions, {"proportions": {}})
    screen_words = File("flags", ScreenWords)
    wording = File("wording", Wording, {})

    @property
    def identity(self) -> dict[str, str]:
        """What a plan, a record and a log say of the book they rest on."""
        return {
            "version": self.book.version,
            "logic_hash": self.logic_hash,
            "content_hash": self.content_hash,
        }

    @cached_property
    def laid_over(self) -> Mapping[str, Signed]:
        """What a house's folder laid over the book as it was written: without the rules made from its flags."""
        flags = {self.places[name].file for name in self.house if name.startswith("flag:")}
        return {
            name: sign
            for name, sign in self.house.items()
            if name.startswith("flag:") or self.places[name].file not in flags
        }

    @cached_property
    def writers(self) -> Mapping[str, tuple[str, ...]]:
        """The ids of the rules that may conclude a fact, in their order, by fact id."""
        found: dict[str, dict[str, None]] = {}
        for rule in self.rules.values():
            for conclusion in rule.then:
                found.setdefault(conclusion.fact, {})[rule.id] = None
        return {fact_id: tuple(rule_ids) for fact_id, rule_ids in found.items()}

    @cached_property
    def _poses(self) -> Mapping[str, Pose]:
        return {name: pose for file in self.poses.values() for name, pose in file.whole.items()}

    def pose_of(self, exercise_id: str) -> Pose | None:
        """Return how an exercise is drawn; None where it is not."""
        return self._poses.get(exercise_id)

    def with_files(self, **files: RuleFile) -> "KnowledgeBase":
        """Return the same knowledge with other documents, by file stem."""
        return dataclasses.replace(self, files={**self.files, **files})

    def place(self, kind: str, item: str, *_path: str | int) -> str:
        """Return where an item stands, e.g. `rules/plan.yaml:1`; a draft knows each part's line."""
        return str(self.places[item if kind == "rule" else f"{kind}:{item}"])

    def best_mark(self, uses: Iterable[SourceUse]) -> Mark:
        """Return the best mark among the sources of a statement."""
        return min((self.sources[use.ref].mark for use in uses), key=tuple(Mark).index)

    def statement(self, rule_id: str) -> str:
        """Return the fingerprint of what a rule says, with its numbers, sources and grade: what somebody signs."""
        rule = self.rules[rule_id]
        spoken = [name.removeprefix("param:") for name in placeholders(rule.because)]
        named = {*spoken, *_numbers_in(rule.logic)} & self.parameters.keys()
        said = {
            "logic": rule.logic,
            "says": [rule.because, rule.grade.certainty, *(use.ref for use in rule.source)],
            "numbers": {
                name: [*((str(v.since), v.value) for v in self.parameters[name].values),
                       self.overlay.get(name)]
                for name in named
            },
        }  # fmt: skip
        return fingerprint(said)[:_STATEMENT_DIGITS]

    def reviews_of(self, rule_id: str) -> list[Review]:
        """Return what was said to a rule as it stands; a review of what it said before is none of it."""
        found = [each for each in self.reviews.reviews if each.rule == rule_id]
        return [each for each in found if each.statement == self.statement(rule_id)]

    @property
    def front_page(self) -> str:
        """Where the book itself stands."""
        return self.place("book", self.book.name)

    def asks_everybody(self, fact: FactDeclaration) -> bool:
        """Tell whether a safety question has no condition: that it does not apply would be silence read as no."""
        is_screened = fact.id.startswith("screen.") and fact.is_safety
        return is_screened and any(
            question.fact == fact.id and not question.ask_if for question in self.questions
        )

    def parameter_value(self, parameter_id: str, on: dt.date) -> DatedValue:
        """Return a parameter's value in force on a day; the coach's own setting wins.

        Raises KeyError with one clear line if the parameter is not in force yet.
        """
        dated = self.parameters[parameter_id].in_force(on)
        if dated is None:
            raise KeyError(f"parameter `{parameter_id}` has no value in force on {on.isoformat()}")
        own = self.overlay.get(parameter_id)
        return dated if own is None else DatedValue(since=dated.since, value=own)

    def book_says(self, parameter_id: str, on: dt.date) -> float | None:
        """Return the book's own value of a number that a house sets to another; None where none does."""
        own, dated = self.overlay.get(parameter_id), self.parameters[parameter_id].in_force(on)
        return None if own is None or dated is None or own == dated.value else dated.value


def _numbers_in(logic: Any) -> Iterator[str]:
    """Yield the names of the parameters in a rule's logic."""
    inner = logic.values() if isinstance(logic, dict) else logic if isinstance(logic, list) else ()
    if isinstance(logic, dict) and isinstance(logic.get("param"), str):
        yield logic["param"]
    for each in inner:
        yield from _numbers_in(each)


FILES: Mapping[str, type[RuleFile]] = {
    each.stem: each.model for each in vars(KnowledgeBase).values() if isinstance(each, File)
}
