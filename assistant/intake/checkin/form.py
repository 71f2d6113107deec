"""The guided check-in as a form of the dialogue: what is asked today, and how lines are read."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from assistant.intake.checkin.book import CheckinBook
from assistant.intake.checkin.doubts import compare, in_words
from assistant.intake.checkin.typed_lines import Situation, read_lines
from assistant.intake.checkin.written import written
from assistant.intake.form import Form, LineReader, Slot, form_of
from assistant.intake.quantities import UnitSystem
from assistant.knowledge.walk import clause_facts
from assistant.model.clauses import Condition, alternatives
from assistant.model.documents.checkin import CheckinQuestion, Reads
from assistant.model.entries import Entry, Measure, Spot
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Question
from assistant.model.values import Status, Value

PREFIX = "checkin."
AGAIN = "again"
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MEASURE_OF: dict[Reads, Measure] = {
    "pains": "pain",
    "weights": "weight_kg",
    "girths": "girth_cm",
    "eating": "energy_kcal",
    "sleep": "sleep_hours",
    "days": "cycle_start",
    "sessions": "session",
    "top_sets": "top_set",
}
_HOW: dict[Reads, str] = {
    "pains": "joint and number, or none",
    "weights": "a weight, or day and weight",
    "girths": "site and girth",
    "eating": "day and kcal, or kcal/protein",
    "sleep": "hours, like 7.5",
    "days": "a day, or none",
    "sessions": "all, none, or days like mon, wed",
    "top_sets": "lift, load x reps, @reserve",
}


@dataclass(frozen=True)
class Known:
    """What is known before the check-in.

    stands: the record's lines. answers: answers that stand. withheld: outputs the screen holds
    back. training_days: weekdays of the plan's sessions. due: facts whose questions are due again.
    """

    stands: Mapping[Spot, Entry]
    answers: Mapping[str, Value]
    withheld: Collection[str]
    training_days: Collection[str]
    since: dt.date
    due: Collection[str]


@dataclass(frozen=True)
class Checkin:
    """A check-in of one day: its form, and how its answers become lines of the record."""

    form: Form
    situation: Situation
    questions: Mapping[str, CheckinQuestion]

    def entries(self, fact: str, value: Value) -> tuple[Entry, ...]:
        """Return the lines an answer stands for; none where the question was left out."""
        question = self.questions[fact]
        if isinstance(value, Status):
            return ()
        if question.reads is not None:
            return read_lines(question.reads, str(value), self.situation, UnitSystem.METRIC)
        assert question.measure is not None  # the book has one or the other
        return (Entry(question.measure, self.situation.today, float(str(value))),)


def checkin_of(
    knowledge: KnowledgeBase, book: CheckinBook, today: dt.date, known: Known
) -> Checkin:
    """Return the check-in of a day. What the screen holds back is not asked for."""
    situation = Situation(book, today, planned_days(book, today, known), sore_joints(today, known))
    asked = [q for q in book.document.questions if _is_asked(q, book, situation, known)]
    questions = {PREFIX + question.id: question for question in asked}
    whole = form_of(knowledge, today)
    again = _again(whole, known.due)
    slots = (*again, *(_slot(question, situation) for question in asked))
    checkin = Checkin(
        replace(whole, sections=book.document.sections, slots=slots, known=known.answers),
        situation,
        questions,
    )

    def second_look(fact: str, value: Value) -> str | None:
        if fact not in questions or isinstance(value, Status):
            return None
        return _second_look(checkin.entries(fact, value), known, situation)

    return replace(checkin, form=replace(checkin.form, second_look=second_look))


def planned_days(book: CheckinBook, today: dt.date, known: Known) -> tuple[dt.date, ...]:
    """Return the days of planned sessions since the plan began that nobody has told about yet."""
    back = int(book.numbers["looks_back_days"])
    days = (today - dt.timedelta(days=number) for number in range(back, -1, -1))
    return tuple(
        day
        for day in days
        if _WEEKDAYS[day.weekday()] in known.training_days
        and day >= known.since
        and Spot("session", day, "") not in known.stands
    )


def sore_joints(today: dt.date, known: Known) -> tuple[str, ...]:
    """Return the joints that hurt when last told about before today."""
    last: dict[str, Entry] = {}
    for spot, entry in sorted(known.stands.items(), key=lambda pair: pair[0].day):
        if spot.measure == "pain" and spot.day < today:
            last[spot.detail] = entry
    return tuple(joint for joint, entry in sorted(last.items()) if entry.value)


def _is_asked(
    question: CheckinQuestion, book: CheckinBook, situation: Situation, known: Known
) -> bool:
    measure = question.measure or _MEASURE_OF[question.reads or "pains"]
    if set(book.words(measure).held_back_by) & set(known.withheld):
        return False
    if question.reads == "sessions":
        return bool(situation.planned) and "exercise_any" not in known.withheld
    wanted = question.only_for
    return wanted is None or known.answers.get("client.sex_for_equations") == wanted


def _slot(question: CheckinQuestion, situation: Situation) -> Slot:
    fact = PREFIX + question.id
    shape = Question(
        fact=fact,
        section=question.section,
        coach=question.coach,
        self=question.self,
        why=question.why,
        help=_help(question, situation),
        labels={str(n): label for n, label in enumerate(question.labels, start=1)},
    )
    kind = FactType.TEXT if question.reads else FactType.CHOICE
    choices = tuple(shape.labels) or ("1",)
    declared = FactDeclaration(
        id=fact,
        label=question.id.replace("_", " "),
        type=kind,
        origin="answer",
        choices=() if question.reads else choices,
    )
    if question.reads is None:
        return Slot(shape, declared, choices)
    return Slot(shape, declared, lines=_reader(question.reads, situation))


def _help(question: CheckinQuestion, situation: Situation) -> str | None:
    if question.reads != "sessions":
        return question.help
    days = ", ".join(f"{_WEEKDAYS[day.weekday()]} {day.isoformat()}" for day in situation.planned)
    return f"Planned and not told about yet: {days}. Type all, none, or the days that took place."


def _reader(reads: Reads, situation: Situation) -> LineReader:
    def read(text: str, system: UnitSystem) -> str:
        return written(read_lines(reads, text, situation, system), reads)

    return LineReader(read, _HOW[reads])


def _second_look(entries: Iterable[Entry], known: Known, situation: Situation) -> str | None:
    book = situation.book
    for found in compare(entries, known.stands, known.answers, book, situation.today):
        if found.differs and found.before is not None:
            return (
                f"The record already says {in_words(found.before, book)}; this would put "
                f"{in_words(found.entry, book)} in its place."
            )
        if found.question:
            return found.question
    return None


def _again(whole: Form, due: Collection[str]) -> tuple[Slot, ...]:
    """Return the slots of due questions and of those that hang on them, in the book's order."""
    wanted = set(due)
    for slot in whole.slots:  # a question hangs only on earlier ones
        if any(_facts_of(condition) & wanted for condition in slot.question.ask_if):
            wanted.add(slot.fact)
    return tuple(
        replace(slot, question=slot.question.model_copy(update={"section": AGAIN}))
        for slot in whole.slots
        if slot.fact in wanted
    )


def _facts_of(condition: Condition) -> set[str]:
    return {fact for clause in alternatives(condition) for fact in clause_facts(clause)}
