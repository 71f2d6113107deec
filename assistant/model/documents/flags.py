"""A flag of the screen as one document (`rules/flags/`).

A flag's document holds everything about one finding: what raises it, how strong it is, what it takes
out of the plan, who should look, what is said, and what is left of it after a person's decision.
The rules of the screen are made from it (`assistant.knowledge.flag_rules`), so it cannot exist half.
"""

from collections.abc import Callable, Iterator
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.clauses import Clause, Condition
from assistant.model.facts import Identifier
from assistant.model.marks import Names, Plain
from assistant.model.rules import Audience, RuleId
from assistant.model.sources import Grade, SourceUse

Severity = Literal["stop", "withhold", "caution", "inform"]
Urgency = Literal["now", "same_day", "this_week", "before_start", "routine"]
# The soonest first.
URGENCIES: tuple[Urgency, ...] = ("now", "same_day", "this_week", "before_start", "routine")
# The strongest first.
SEVERITIES: tuple[Severity, ...] = ("stop", "withhold", "caution", "inform")
FlagName = Annotated[str, Names("flag")]
Role = Annotated[str, Names("role")]
Training = Annotated[str, Names("training note")]
FactName = Annotated[str, Names("fact")]
Outputs = tuple[Annotated[str, Names("output or group")], ...]
Sources = Annotated[tuple[SourceUse, ...], Field(min_length=1)]


class Said(Document):
    """The same in both voices."""

    coach: Plain
    client: Plain

    def to(self, audience: Audience) -> str:
        """Return the words for a reader."""
        return self.coach if audience == "coach" else self.client


# `self` is a person who answers alone, spoken in the first person.
Voice = Literal["coach", "client", "self"]


class Alone(Said):
    """The same in both voices. self: for a person who answers alone, where it is not the client's."""

    self: Plain | None = None

    def to(self, audience: Voice) -> str:
        """Return the words in a voice."""
        if audience == "self":
            return self.self or self.client
        return super().to(audience)


class FirstStep(Document):
    """What to do first. With `answer` it is said when one of `items` was ticked there, else always.

    coach, client, self: the words, as for a flag; an entry without any makes the flag's own words be
    said as soon as one of its items is ticked.
    """

    id: Identifier | None = None
    answer: FactName | None = None
    items: tuple[Identifier | bool, ...] = ()
    coach: Plain | None = None
    client: Plain | None = None
    self: Plain | None = None

    @model_validator(mode="after")
    def _both_voices(self) -> Self:
        if (self.coach is None) != (self.client is None):
            raise ValueError("a step says something to both the coach and the client, or to none")
        if (self.answer is None) == bool(self.items):
            raise ValueError("`items` are those of an `answer`; write both, or none")
        return self

    @property
    def words(self) -> bool:
        """Whether the step has words of its own."""
        return self.client is not None

    def to(self, voice: Voice) -> str:
        """Return the words in a voice; empty where there are none."""
        own = self.self if voice == "self" else getattr(self, voice)
        return own or self.client or ""

    def said(self, tell: Callable[[str], str]) -> "FirstStep":
        """Return the step with what a client reads, alone or not, put through `tell`."""
        words = {"client": self.client, "self": self.self}
        return self.model_copy(update={name: tell(text) for name, text in words.items() if text})


class Reason(Document):
    """One way a flag is raised: a rule of the screen without its stage and conclusion.

    tests.expect is the flag itself unless it is written.
    """

    id: RuleId
    title: str
    for_each: dict[str, str] | None = None
    when: tuple[Condition, ...] = ()
    unless: tuple[Clause, ...] = ()
    excused_by: tuple[Clause, ...] = ()
    because: str
    client_because: str
    source: Sources
    grade: Grade
    tests: dict[str, Any]
    unmutated: dict[str, str] = {}


class Referral(Document):
    """Who should look, and how soon.

    when, excused_by: further conditions; then `tests` must be written too. because, client_because:
    instead of the sentences all referrals share. evidence: published work that names this help.
    """

    to: Role
    urgency: Urgency
    when: tuple[Condition, ...] = ()
    excused_by: tuple[Clause, ...] = ()
    because: str | None = None
    client_because: str | None = None
    evidence: tuple[SourceUse, ...] = ()
    tests: dict[str, Any] | None = None


class Decided(Document):
    """What is left of a flag after a person's decision: never more than before, never nothing.

    withheld: outputs still left out. training: which words on training then hold. evidence: published
    work that says of some of them that they wait.
    """

    withheld: Outputs = ()
    training: Training
    evidence: tuple[SourceUse, ...] = ()


class Cleared(Decided):
    """What is left of a flag after a clearance. by: the roles that may clear it."""

    by: Annotated[tuple[Role, ...], Field(min_length=1)]


class Flag(RuleFile, Alone):
    """One finding of the screen.

    withheld: outputs, or groups of outputs, that it takes out of the plan; a stop takes everything.
    evidence: published work that says of some of them that they wait.
    area: what it is about, in plain words. coach, client, self: what is said. first_steps: what to do
    first, one entry a kind of sign. looks_wait: no shape is put first and none is spoken of. note: the
    line in the note for a professional. closes: what in a client's record closes it, for the coach.
    training: words on training meanwhile. rescreen_weeks: when to ask again, 0
    for before the next session. covers: weaker flags that say nothing beside this one. cleared: what
    is left once a professional has cleared it; without it nobody may. set_aside: the same for a
    coach's own decision about a caution. raised_by: the rules that find it; flags may be raised by
    other rules too.
    """

    id: Identifier
    severity: Severity
    withheld: Outputs = ()
    evidence: tuple[SourceUse, ...] = ()
    looks_wait: bool = False
    area: Plain
    note: Plain
    closes: Plain | None = None
    training: Training
    rescreen_weeks: Annotated[int, Field(ge=0, le=52)]
    first_steps: tuple[FirstStep, ...] = ()
    refer: tuple[Referral, ...] = ()
    covers: tuple[FlagName, ...] = ()
    cleared: Cleared | None = None
    set_aside: Decided | None = None
    raised_by: tuple[Reason, ...] = ()

    @model_validator(mode="after")
    def _decisions_fit_the_severity(self) -> Self:
        if self.severity == "stop" and (self.cleared or self.set_aside):
            raise ValueError("a stop is lifted by nobody; remove `cleared` and `set_aside`")
        if self.cleared is not None and self.severity == "inform":
            raise ValueError("`cleared` belongs to a flag that takes something out")
        if self.set_aside is not None and self.severity != "caution":
            raise ValueError("`set_aside` belongs to a caution")
        if self.severity == "stop" and self.withheld != ("EVERYTHING",):
            raise ValueError("a stop takes everything out: `withheld: [EVERYTHING]`")
        return self

    def faults(self) -> Iterator[Fault]:
        """Yield referrals whose conditions no example shows."""
        for number, refer in enumerate(self.refer):
            if (refer.when or refer.excused_by) and refer.tests is None:
                text = "a referral with conditions of its own needs `tests`"
                yield Fault(("refer", number), "missing-field", text)
