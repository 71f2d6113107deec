"""What all flags of the screen share: their words, roles and ways of deciding (`rules/flags.yaml`)."""

from collections.abc import Iterable, Mapping
from typing import Annotated, Literal

from assistant.model.base import Document, RuleFile
from assistant.model.documents.flags import (
    FactName,
    FlagName,
    Role,
    Said,
    Severity,
    Sources,
)
from assistant.model.facts import Identifier
from assistant.model.marks import Names, Plain, Slots, Text
from assistant.model.sources import Grade

_URGENCY = "choice of screen.referral_urgency"


class TrainingNote(Said):
    """What may be said about training. extent: none (it waits), limited, or full."""

    extent: Literal["none", "limited", "full"]


_Area = Annotated[Text, Slots(("area",))]


class Sentence(Document):
    """The reason of a made rule, for the coach and for the client; `{area}` is the flag's."""

    because: _Area
    client_because: _Area


class Counting(Document):
    """Why a found flag counts, and why it still stands: bookkeeping, no claim about anybody."""

    source: Sources
    grade: Grade
    in_force: Sentence
    standing: Sentence


class Consequences(Document):
    """How the consequences of all flags are worded, and what they rest on.

    by_severity: what a flag of this severity does; `{area}` is the flag's. cleared, set_aside: what
    is left after a decision. backed: the grade where a flag names published work as its `evidence`.
    """

    source: Sources
    grade: Grade
    backed: Grade | None = None
    by_severity: dict[Severity, Sentence]
    cleared: Sentence
    set_aside: Sentence


class ReferralWords(Document):
    """How referrals are worded. brief: urgencies in a few words. backed: as for consequences."""

    source: Sources
    grade: Grade
    backed: Grade | None = None
    because: Annotated[Text, Slots(("area", "who", "when"))]
    client_because: Annotated[Text, Slots(("area", "who", "when"))]
    brief: dict[Annotated[str, Names(_URGENCY)], Said]


class Silence(Document):
    """What an unanswered question of a tier raises. `{label}` is the question's."""

    flag: FlagName
    because: Annotated[Text, Slots(("label",))]
    client_because: Annotated[Text, Slots(("label",))]


class Unanswered(Document):
    """What silence costs, by tier."""

    source: Sources
    grade: Grade
    tiers: dict[Literal["A", "B", "C"], Silence]


class NoteWords(Document):
    """The sentences of the note for a professional, in one voice."""

    opening: Annotated[Text, Slots(("areas",))]
    goes_on: Annotated[Text, Slots(("training",))]
    paused: Annotated[Text, Slots(("outputs",))]
    ask: Plain
    close: Plain


class ReferralNote(NoteWords):
    """The note in a coach's voice. alone: in the voice of somebody who trains without a coach."""

    alone: NoteWords | None = None


class Deciding(Document):
    """Who decides about flags, and what makes a clearance void.

    coach_roles: who may set a caution aside. not_a_person: words that name no other person than the
    client. watched: answers, beside those of tier A, in which anything new voids every clearance. changed: the answer that
    says that something has changed since.
    """

    coach_roles: tuple[Identifier, ...]
    not_a_person: tuple[str, ...]
    watched: tuple[FactName, ...]
    changed: FactName


class TakenBack(Document):
    """Answers that do not just go away in a record: told once and cleared on a later day, they are talked over.

    answers: which ones. told_by: the answer that then stands as yes. weeks: the parameter that says how long.
    """

    answers: tuple[FactName, ...]
    told_by: FactName
    weeks: Annotated[str, Names("parameter")]


class ScreenWords(RuleFile):
    """`rules/flags.yaml`: what all flags share."""

    roles: dict[Role, Said]
    urgencies: dict[Annotated[str, Names(_URGENCY)], Said]
    levels: dict[Annotated[str, Names("choice of screen.level")], Said]
    outputs: dict[Annotated[str, Names("output")], Said]
    trainings: dict[str, TrainingNote]
    note: ReferralNote
    declined_referral: Plain
    withheld_line: Plain
    counting: Counting
    consequences: Consequences
    referrals: ReferralWords
    unanswered: Unanswered
    deciding: Deciding
    taken_back: TakenBack | None = None

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return what may be said about training."""
        return {"training note": self.trainings}

    def completes(self) -> Iterable[tuple[str, str, Iterable[str]]]:
        """Return every role and output, every urgency, and the levels if any has words."""
        levels = [("levels", "choice of screen.level", self.levels)] if self.levels else []
        return [
            ("roles", "role", self.roles),
            ("outputs", "output", self.outputs),
            ("urgencies", _URGENCY, self.urgencies),
            ("referrals", _URGENCY, self.referrals.brief),
            *levels,
        ]
