"""A flag of the screen as one document, and what all flags share: words for roles, outputs, training.

A flag document holds everything about one finding: what raises it, how strong it is, what it takes
out of the plan, who should look, what is said, and what is left of it after a person's decision.
The rules of the screen are made from it (`assistant.knowledge.flag_rules`), so it cannot exist half.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from assistant.model.base import Document
from assistant.model.clauses import Clause, Condition
from assistant.model.facts import Identifier
from assistant.model.rules import RuleId
from assistant.model.sources import Grade, SourceUse

Severity = Literal["stop", "withhold", "caution", "inform"]
Urgency = Literal["now", "same_day", "this_week", "before_start", "routine"]
URGENCIES: tuple[Urgency, ...] = ("now", "same_day", "this_week", "before_start", "routine")
# The strongest first.
SEVERITIES: tuple[Severity, ...] = ("stop", "withhold", "caution", "inform")
Outputs = tuple[str, ...]


class Voices(Document):
    """One thing said twice: to the coach, and to the client."""

    coach: str
    client: str


class Reason(Document):
    """One way a flag is raised: a rule of the screen without its stage and conclusion.

    tests.expect is the flag itself unless it is written.
    """

    id: RuleId
    title: str
    when: tuple[Condition, ...] = ()
    unless: tuple[Clause, ...] = ()
    excused_by: tuple[Clause, ...] = ()
    because: str
    client_because: str
    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    tests: dict[str, Any]
    unmutated: dict[str, str] = {}


class Referral(Document):
    """Who should look, and how soon.

    when, excused_by: further conditions; then `tests` must be written too. because, client_because:
    instead of the sentences all referrals share.
    """

    to: Identifier
    urgency: Urgency
    when: tuple[Condition, ...] = ()
    excused_by: tuple[Clause, ...] = ()
    because: str | None = None
    client_because: str | None = None
    tests: dict[str, Any] | None = None


class Decided(Document):
    """What is left of a flag after a person's decision: never more than before, never nothing.

    withheld: outputs still left out. training: which words on training then hold.
    """

    withheld: Outputs = ()
    training: Identifier


class Cleared(Decided):
    """What is left of a flag after a clearance. by: the roles that may clear it."""

    by: Annotated[tuple[Identifier, ...], Field(min_length=1)]


class Flag(Document):
    """One finding of the screen.

    withheld: outputs, or groups of outputs, that it takes out of the plan; a stop takes everything.
    area: what it is about, in plain words. coach, client: what is said. note: the line in the note
    for a professional. training: words on training meanwhile. rescreen_weeks: when to ask again, 0
    for before the next session. covers: weaker flags that say nothing beside this one. cleared: what
    is left once a professional has cleared it; without it nobody may. set_aside: the same for a
    coach's own decision about a caution. raised_by: the rules that find it; flags may be raised by
    other rules too.
    """

    id: Identifier
    severity: Severity
    withheld: Outputs = ()
    area: str
    coach: str
    client: str
    note: str
    training: Identifier
    rescreen_weeks: Annotated[int, Field(ge=0)]
    refer: tuple[Referral, ...] = ()
    covers: tuple[Identifier, ...] = ()
    cleared: Cleared | None = None
    set_aside: Decided | None = None
    raised_by: tuple[Reason, ...] = ()

    @model_validator(mode="after")
    def _decisions_fit_the_severity(self) -> Self:
        if self.severity == "stop" and (self.cleared or self.set_aside):
            raise ValueError("a stop is lifted by nobody; remove `cleared` and `set_aside`")
        if self.cleared is not None and self.severity != "withhold":
            raise ValueError("`cleared` belongs to a flag that withholds")
        if self.set_aside is not None and self.severity != "caution":
            raise ValueError("`set_aside` belongs to a caution")
        if self.severity == "stop" and self.withheld != ("EVERYTHING",):
            raise ValueError("a stop takes everything out: `withheld: [EVERYTHING]`")
        return self


class Said(Document):
    """A sentence for the coach and one for the client, as a rule has them."""

    because: str
    client_because: str


class Counting(Document):
    """Why a found flag counts, and why it still stands: bookkeeping, no claim about anybody."""

    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    in_force: Said
    standing: Said


class Consequences(Document):
    """How the consequences of all flags are worded, and what they rest on.

    by_severity: what a flag of this severity does; `{area}` is the flag's. cleared, set_aside: what
    is left after a decision.
    """

    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    by_severity: dict[Severity, Said]
    cleared: Said
    set_aside: Said


class ReferralWords(Document):
    """How referrals are worded: `{area}`, `{who}` and `{when}` are filled in."""

    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    because: str
    client_because: str
    brief: dict[str, Voices]


class Silence(Document):
    """What an unanswered question of a tier raises. `{label}` is the question's."""

    flag: Identifier
    because: str
    client_because: str


class Unanswered(Document):
    """What silence costs, by tier."""

    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    tiers: dict[Literal["A", "B", "C"], Silence]


class NoteWords(Document):
    """Sentences of the note for a professional."""

    opening: str
    goes_on: str
    paused: str
    ask: str
    close: str


class Deciding(Document):
    """Who decides about flags, and what makes a clearance void.

    coach_roles: who may set a caution aside. not_a_person: words that name no other person than the
    client. watched: answers in which anything new voids every clearance.
    """

    coach_roles: tuple[Identifier, ...]
    not_a_person: tuple[str, ...]
    watched: tuple[str, ...]
    changed: str


class FlagShelf(Document):
    """`rules/flags.yaml`: what all flags share."""

    roles: dict[Identifier, Voices]
    urgencies: dict[str, Voices]
    levels: dict[Identifier, Voices]
    outputs: dict[Identifier, Voices]
    trainings: dict[Identifier, Voices]
    note: NoteWords
    declined_referral: str
    withheld_line: str
    counting: Counting
    consequences: Consequences
    referrals: ReferralWords
    unanswered: Unanswered
    deciding: Deciding

    @model_validator(mode="after")
    def _every_urgency_has_words(self) -> Self:
        for name, words in (("urgencies", self.urgencies), ("brief", self.referrals.brief)):
            if set(words) != set(URGENCIES):
                raise ValueError(f"`{name}` says each of {', '.join(URGENCIES)} once")
        return self
