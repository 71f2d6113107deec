"""checkin.yaml: what is measured between two plans, and the questions of the guided check-in."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile, repeated
from assistant.model.entries import Measure
from assistant.model.marks import Names, Number, Output, Plain, Slots, Text
from assistant.model.questions import Section

# The parameters behind the check-in.
FAMILY = "checkin."
NUMBERS = (
    "weight_jump_percent", "weight_jump_days", "girth_jump_cm", "girth_jump_days",
    "top_set_jump_percent", "top_set_drop_percent", "gross_percent", "days_back", "all_again_weeks", "open_again_weeks",
    "weight_days", "least_weighings", "girth_days", "looks_back_days",
)  # fmt: skip
Range = tuple[float, float]
Reads = Literal[
    "pains", "weights", "girths", "eating", "sleep", "days", "sessions", "top_sets"
]  # fmt: skip


class Detail(Document):
    """A site, or a joint, that a measure is taken at."""

    range: Range | None = None
    columns: tuple[Plain, ...] = ()


class MeasureWords(Document):
    """What is known of a measure. words: what may be written instead of a number."""

    label: Plain
    range: Range
    quantity: Literal["mass", "length", "energy", "duration_h"] | None = None
    unit: str = ""
    whole: bool = False
    held_back_by: tuple[Output, ...] = ()
    details: dict[Annotated[str, Names("place of a measure")], Detail] = {}
    words: dict[str, float] = {}
    columns: tuple[Plain, ...] = ()


class Measures(Document):
    """Every measure of the record."""

    weight_kg: MeasureWords
    girth_cm: MeasureWords
    energy_kcal: MeasureWords
    protein_g: MeasureWords
    sleep_hours: MeasureWords
    session: MeasureWords
    top_set: MeasureWords
    soreness_1_to_5: MeasureWords
    mood_1_to_5: MeasureWords
    appetite_1_to_5: MeasureWords
    cycle_start: MeasureWords
    pain: MeasureWords
    sign: MeasureWords
    referral: MeasureWords

    def __getitem__(self, measure: Measure) -> MeasureWords:
        """Return what is known of a measure."""
        words: MeasureWords = getattr(self, measure)
        return words


class Columns(Document):
    """Names of a record's other columns.

    From agreed_kcal on they hold what no check-in takes in: what was agreed, and whether the urgent
    signs were all asked clear.
    """

    date: tuple[Plain, ...]
    exercise: tuple[Plain, ...]
    repetitions: tuple[Plain, ...]
    reserve: tuple[Plain, ...]
    set_number: tuple[Plain, ...] = ()
    sets: tuple[Plain, ...] = ()
    joint: tuple[Plain, ...]
    pain_at_joint: tuple[Plain, ...]
    referral: tuple[Plain, ...]
    seen: tuple[Plain, ...]
    agreed_kcal: tuple[Plain, ...]
    agreed_phase: tuple[Plain, ...]
    block_started: tuple[Plain, ...]
    sets_changed: tuple[Plain, ...]
    easier_week: tuple[Plain, ...]
    log_mended: tuple[Plain, ...]
    urgent_signs_asked: tuple[Plain, ...]


class Ask(Document):
    """Safety questions that come back while a flag of the record stands.

    again_weeks: the parameter that says how long after they were answered last; without it they
    come at the next check-in.
    """

    flags: Annotated[tuple[Annotated[str, Names("flag")], ...], Field(min_length=1)]
    facts: Annotated[tuple[Annotated[str, Names("question")], ...], Field(min_length=1)]
    again_weeks: Number | None = None


class Asks(Document):
    """What the record makes us ask. strong_pain: until each of its questions is answered clear."""

    strong_pain: Ask
    low_mood: Ask

    @property
    def all(self) -> tuple[Ask, ...]:
        """Every kind."""
        return (self.strong_pain, self.low_mood)


# What a question is asked once for: everybody whom the client has still to see.
Each = Literal["open_referral"]
_ASKED = Slots(("who",))


class CheckinQuestion(Document):
    """One question of the guided check-in. It has `measure` and `labels`, or `reads`.

    values: what is kept for each label, where that is not 1, 2, 3 and so on. detail: the site or sign
    of the measure. while_flags: asked only while one of these flags stands. each: asked once for
    everybody of a kind; `{who}` in the wording names them.
    """

    id: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    section: Annotated[str, Names("section of the check-in")]
    coach: Annotated[Text, _ASKED]
    self: Annotated[Text, _ASKED]
    why: Plain
    help: Plain | None = None
    reads: Reads | None = None
    measure: Measure | None = None
    detail: str = ""
    labels: tuple[Plain, ...] = ()
    values: tuple[float, ...] = ()
    while_flags: tuple[Annotated[str, Names("flag")], ...] = ()
    each: Each | None = None
    only_for: Literal["female", "male"] | None = None


class CheckinDocument(RuleFile):
    """The whole file."""

    schema_version: Literal[1]
    measures: Measures
    columns: Columns
    repetitions: tuple[int, int]
    reserve: Range
    set_number: tuple[int, int] = (1, 20)
    agreed_kcal: Range
    lift_names: dict[str, Annotated[str, Names("exercise")]] = {}
    asks: Asks
    sections: tuple[Section, ...]
    questions: tuple[CheckinQuestion, ...]

    def declares(self) -> dict[str, list[str]]:
        """Return the sections."""
        return {"section of the check-in": [section.id for section in self.sections]}

    def needs(self) -> list[str]:
        """Return the numbers of the check-in."""
        return [FAMILY + name for name in NUMBERS]

    def faults(self) -> Iterator[Fault]:
        """Yield questions that cannot be asked, and ranges that hold nothing."""
        rows = enumerate(self.questions)
        yield from repeated((("questions", number, "id"), row.id) for number, row in rows)
        for number, question in enumerate(self.questions):
            path = ("questions", number)
            if (question.reads is None) == (question.measure is None):
                yield Fault(path, "bad-value", "a question has `reads` or `measure`")
            if (question.measure is None) != (not question.labels):
                yield Fault(
                    path, "bad-value", "a question with `measure` has `labels`, no other has"
                )
            if question.values and len(question.values) != len(question.labels):
                yield Fault(path, "bad-value", "`values` has one number for each label")
        for name in type(self.measures).model_fields:
            words: MeasureWords = getattr(self.measures, name)
            ranges = {("range",): words.range} | {
                ("details", detail, "range"): own.range
                for detail, own in words.details.items()
                if own.range is not None
            }
            for place, (low, high) in ranges.items():
                if low >= high:
                    text = f"{low:g} to {high:g} is not a range"
                    yield Fault(("measures", name, *place), "bad-range", text)
        for name in ("repetitions", "reserve", "set_number", "agreed_kcal"):
            low, high = getattr(self, name)
            if low >= high:
                yield Fault((name,), "bad-range", f"{low:g} to {high:g} is not a range")
