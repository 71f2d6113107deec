"""The guided check-in as a form of the dialogue: what is asked today, and how lines are read."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from assistant.intake.checkin.book import CheckinBook
from assistant.intake.checkin.doubts import compare, in_words
from assistant.intake.checkin.typed_lines import Situation, read_lines
from assistant.intake.checkin.written import KINDS, written
from assistant.intake.form import Form, LineReader, Slot, form_of
from assistant.intake.quantities import UnitSystem
from assistant.intake.speech import Speech
from assistant.knowledge.walk import clause_facts
from assistant.model.clauses import Condition, alternatives
from assistant.model.documents.checkin import CheckinQuestion, Reads
from assistant.model.documents.flags import Said
from assistant.model.entries import Entry, Spot
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Question
from assistant.model.values import Status, Value, weekday_of

PREFIX = "checkin."
AGAIN = "again"


@dataclass(frozen=True)
class Known:
    """What is known before the check-in.

    stands: the record's lines. answers: answers that stand. withheld: outputs the screen holds
    back. training_days: weekdays of the plan's sessions. due: facts whose questions are due again.
    flags: those of the plan. open_referrals: words for everybody still to be seen, by role.
    """

    stands: Mapping[Spot, Entry]
    answers: Mapping[str, Value]
    withheld: Collection[str]
    training_days: Collection[str]
    since: dt.date
    due: Collection[str]
    flags: Collection[str] = ()
    open_referrals: Mapping[str, Said] = field(default_factory=dict)


@dataclass(frozen=True)
class Checkin:
    """A check-in of one day: its form, and how its answers become lines of the record."""

    form: Form
    situation: Situation
    questions: Mapping[str, CheckinQuestion]

    def narrowed(self, facts: Collection[str]) -> "Checkin":
        """Return the check-in with these questions and those that hang on them, and no others."""
        slots = tuple(
            slot
            for slot in self.form.slots
            if slot.fact in facts or not slot.fact.startswith(PREFIX)
        )
        kept = {fact: question for fact, question in self.questions.items() if fact in facts}
        return replace(self, form=replace(self.form, slots=slots), questions=kept)

    def entries(self, fact: str, value: Value) -> tuple[Entry, ...]:
        """Return the lines an answer stands for; none where the question was left out."""
        question = self.questions[fact]
        if isinstance(value, Status):
            return ()
        if question.reads is not None:
            return read_lines(question.reads, str(value), self.situation, UnitSystem.METRIC)
        assert question.measure is not None  # the book has one or the other
        said = float(str(value))
        kept = question.values[int(said) - 1] if question.values else said
        return (Entry(question.measure, self.situation.today, kept, question.detail),)


def checkin_of(
    knowledge: KnowledgeBase, book: CheckinBook, today: dt.date, known: Known
) -> Checkin:
    """Return the check-in of a day. What the screen holds back is not asked for."""
    situation = Situation(book, today, planned_days(book, today, known), sore_joints(today, known))
    asked = [
        each
        for question in book.document.questions
        if _is_asked(question, book, situation, known)
        for each in _each(question, known)
    ]
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
        if weekday_of(day) in known.training_days
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
    measure = question.measure or KINDS[question.reads or "pains"].measure
    if set(book.words(measure).held_back_by) & set(known.withheld):
        return False
    if question.while_flags and not set(question.while_flags) & set(known.flags):
        return False
    if question.reads == "sessions":
        return bool(situation.planned) and "exercise_any" not in known.withheld
    wanted = question.only_for
    return wanted is None or known.answers.get("client.sex_for_equations") == wanted


def _each(question: CheckinQuestion, known: Known) -> list[CheckinQuestion]:
    """Return the question once for everybody it is about."""
    if question.each is None:
        return [question]
    return [
        question.model_copy(
            update={
                "id": f"{question.id}_{role}",
                "detail": role,
                "coach": question.coach.replace("{who}", words.coach),
                "self": question.self.replace("{who}", words.client),
            }
        )
        for role, words in known.open_referrals.items()
    ]


def _slot(question: CheckinQuestion, situation: Situation) -> Slot:
    fact, speech = PREFIX + question.id, situation.book.speech
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
        label=_label(question, speech),
        type=kind,
        origin="answer",
        choices=() if question.reads else choices,
    )
    if question.reads is None:
        return Slot(shape, declared, choices, speech=speech)
    return Slot(shape, declared, lines=_reader(question.reads, situation), speech=speech)


def _label(question: CheckinQuestion, speech: Speech) -> str:
    """Return what the answer is called in a list; for each of many, of whom it speaks."""
    if question.each is None:
        return speech.say(question.id.replace("_", " "))
    family = question.id.removesuffix(f"_{question.detail}")
    return f"{speech.say(family)} {speech.name(question.detail)}"


def _help(question: CheckinQuestion, situation: Situation) -> str | None:
    if question.reads != "sessions":
        return question.help
    speech = situation.book.speech
    days = (f"{speech.name(weekday_of(day))} {day.isoformat()}" for day in situation.planned)
    told = "Planned and not told about yet: {days}. Type all, none, or the days that took place."
    return speech.say(told, days=", ".join(days))


def _reader(reads: Reads, situation: Situation) -> LineReader:
    def read(text: str, system: UnitSystem) -> str:
        return written(read_lines(reads, text, situation, system), reads)

    def shown(text: str) -> str:
        lines = read_lines(reads, text, situation, UnitSystem.METRIC)
        return written(lines, reads, situation.book.speech)

    spoken = situation.book.speech.language is not None
    return LineReader(read, KINDS[reads].how, shown if spoken else str)


def _second_look(entries: Iterable[Entry], known: Known, situation: Situation) -> str | None:
    book = situation.book
    for found in compare(entries, known.stands, known.answers, book, situation.today):
        if found.differs and found.before is not None:
            return book.speech.say(
                "The record already says {before}; this would put {line} in its place.",
                before=in_words(found.before, book),
                line=in_words(found.entry, book),
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
