"""The plan document: what a plan holds as JSON.

Plans are written through these models, which read the plan's own objects, and the published schema is made
from them. A field that may be left out is, where there is nothing to say; only those that say so are null.
"""

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    WithJsonSchema,
    model_validator,
)

from assistant.model.chain import plain
from assistant.model.derivation import Holds
from assistant.model.programme import Amount, HandNote, MuscleWeek, Phase, Substitute, Unmet
from assistant.model.sources import Certainty

# A whole number is written without a point, so both kinds are kept as they are.
Number = Annotated[int | float, AfterValidator(plain), WithJsonSchema({"type": "number"})]
Count = Annotated[int, Field(ge=0)]
AtLeastOne = Annotated[int, Field(ge=1)]
Plain = Annotated[bool | Number | str | list[str] | None, BeforeValidator(plain)]
Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$", json_schema_extra={"format": "date"})]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
DerivationId = Annotated[str, Field(pattern=r"^d[1-9]\d*$")]
FactKey = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+(\[[a-z0-9_]+\])?$")]
LEFT_OUT: Any = Field(default=None)


class Part(BaseModel):
    """A part of the document: these fields and no others, read from data or from the plan's own objects."""

    model_config: ClassVar[ConfigDict] = ConfigDict(extra="forbid", from_attributes=True)


class Sparse(Part):
    """A part whose fields without anything to say are left out, if they may be."""

    @model_validator(mode="before")
    @classmethod
    def _only_what_is_said(cls, said: Any) -> Any:
        fields = cls.model_fields
        if not isinstance(said, Mapping):
            said = {name: getattr(said, name) for name in fields}
        return {
            name: value
            for name, value in said.items()
            if value not in (None, "", ()) or name not in fields or fields[name].is_required()
        }


class ByHand(Sparse):
    """A change by hand: what the rules say, and for a coach by whom, why and since when."""

    rules_say: Plain
    by: str = LEFT_OUT
    reason: str = LEFT_OUT
    since: Day = LEFT_OUT
    until: Day = LEFT_OUT


class Fact(Sparse):
    """A final fact. The schema names the type, the choices and the unit of each fact of the book."""

    value: Annotated[Any, BeforeValidator(plain)]
    low: Number = LEFT_OUT
    high: Number = LEFT_OUT
    unit: str
    method: str = LEFT_OUT
    grade: Certainty
    derivation: DerivationId | None
    derivations: list[DerivationId] = LEFT_OUT
    by_hand: ByHand = LEFT_OUT


class Line(Sparse):
    """A line of a section."""

    id: str
    text: str
    reason: str = LEFT_OUT
    facts: list[str]
    grade: Certainty = LEFT_OUT


class Section(Sparse):
    """A titled part of the plan."""

    id: str
    title: str
    note: str = LEFT_OUT
    lines: list[Line]


class Concluded(Sparse):
    """One conclusion of a rule."""

    fact: FactKey
    value: Plain
    low: Number = LEFT_OUT
    high: Number = LEFT_OUT


class Reading(Part):
    """How a clause read the facts."""

    fact: str
    role: str
    at: str
    operator: str
    want: Plain
    have: Plain
    holds: Holds
    margin: Number = LEFT_OUT


class HiddenReading(Part):
    """A reading of a fact that this plan does not show."""

    fact: str
    role: str
    left_out: Literal[True]


class Derivation(Part):
    """A rule that fired."""

    id: DerivationId
    rule: str
    rule_hash: Annotated[str, Field(pattern=r"^[0-9a-f]+$")]
    binding: dict[str, str]
    because: str
    conclusions: list[Concluded]
    rests_on: list[str]
    parameters: list[str]
    assumptions: list[FactKey]
    sources: list[str]
    grade: Certainty
    weakest: Certainty


class CoachDerivation(Derivation):
    """The same with its readings."""

    readings: list[Reading | HiddenReading]


class WarmUpSet(Sparse):
    """A lighter set before the working sets; without a load where the working load is not known."""

    percent: AtLeastOne
    repetitions: AtLeastOne
    load_kg: Amount = LEFT_OUT


class SessionLine(Sparse):
    """One exercise of a session; `reps` from and to, in repetitions or seconds."""

    order: AtLeastOne
    exercise: str
    name: str
    sets: AtLeastOne
    measure: Literal["repetitions", "seconds"]
    reps: Annotated[list[AtLeastOne], Field(min_length=2, max_length=2)]
    rir: Count
    rest_s: Count
    load_kg: Amount = LEFT_OUT
    load_note: str
    warm_up: list[WarmUpSet] = LEFT_OUT
    reason: str
    substitutes: list[Substitute]
    by_hand: list[HandNote] = LEFT_OUT


class Session(Part):
    """One training day; `warm_up_s` of easy movement are part of its minutes. The schema names days and day types."""

    day: str
    type: str
    minutes: Amount
    minutes_allowed: AtLeastOne
    warm_up_s: Count
    lines: Annotated[list[SessionLine], Field(min_length=1)]


class NotChosen(Sparse):
    """Why an exercise is not in the week."""

    exercise: str
    cause: str
    why: str
    behind: int = LEFT_OUT
    chosen_instead: str


class ClientProgramme(Part):
    """The sessions of a week."""

    sessions: list[Session]
    notes: list[str]


class CoachProgramme(Part):
    """The same with the account of the search, which is the coach's business."""

    sessions: list[Session]
    muscles: list[MuscleWeek]
    unmet: list[Unmet]
    phases: list[Phase]
    not_chosen: list[NotChosen]
    binding: list[str]
    shape_reason: str
    notes: list[str]


class BookUsed(Part):
    """The rule book behind the plan."""

    version: str
    logic_hash: Hash
    content_hash: Hash


class PlanVersion(Sparse):
    """Which version of a client's plan this is. cause, by, reason: for a coach.

    block_week: of the running block, from 1.
    """

    number: AtLeastOne
    on: Day
    cause: str = LEFT_OUT
    by: str = LEFT_OUT
    reason: str = LEFT_OUT
    block_since: Day = LEFT_OUT
    block_week: AtLeastOne = LEFT_OUT
    easier_until: Day = LEFT_OUT


class HouseNumber(Sparse):
    """A number that the house set, in place of the book's and its sources. by, day, reason: for a coach."""

    value: Number
    book_says: Number
    by: str = LEFT_OUT
    day: str = LEFT_OUT
    reason: str = LEFT_OUT


class _PlanDocument(Sparse):
    """A whole plan. log: number and head of its entry in the decision log, where it has one.

    house_numbers: of the numbers that the derivations name, those that the house set.

    version: of a plan that is kept in a client's record.
    """

    case: str
    as_of: Day
    audience: Annotated[str, Field(alias="for")]
    book: BookUsed
    engine: str
    log: Annotated[str, Field(pattern=r"^[1-9]\d*:[0-9a-f]{16,64}$")] = LEFT_OUT
    version: PlanVersion = LEFT_OUT
    facts: dict[str, Fact]
    sections: list[Section]
    derivations: list[Any]
    house_numbers: dict[str, HouseNumber] = LEFT_OUT
    assumptions: list[FactKey]
    unknown: list[FactKey]
    programme: Any


class CoachPlan(_PlanDocument):
    """A plan for the coach."""

    audience: Annotated[Literal["coach"], Field(alias="for")]
    derivations: list[CoachDerivation]
    programme: CoachProgramme | None


class ClientPlan(_PlanDocument):
    """A plan for the client."""

    audience: Annotated[Literal["client"], Field(alias="for")]
    derivations: list[Derivation]
    programme: ClientProgramme | None
