"""flags.yaml: what is said about each flag, and words of the screen that several flags share."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import Names, Output, Plain, Slots, Text
from assistant.model.rules import Audience

Training = Annotated[str, Names("training note")]


class Said(Document):
    """The same in both voices."""

    coach: Plain
    client: Plain

    def to(self, audience: Audience) -> str:
        """Return the words for a reader."""
        return self.coach if audience == "coach" else self.client


class FlagWords(Said):
    """What is said about a flag.

    note: the line in the note for a professional. training: what may go on. rescreen_weeks: when
    to ask again, where 0 means before the next session.
    """

    area: Plain
    note: Plain | None = None
    training: Training | None = None
    rescreen_weeks: Annotated[int, Field(ge=0, le=52)] | None = None


class ReferralNote(Document):
    """The sentences of the note for a professional."""

    opening: Annotated[Text, Slots(("areas",))]
    goes_on: Annotated[Text, Slots(("training",))]
    paused: Annotated[Text, Slots(("outputs",))]
    ask: Plain
    close: Plain


class ScreenWords(RuleFile):
    """The whole file."""

    roles: dict[Annotated[str, Names("role")], Said] = {}
    urgencies: dict[Annotated[str, Names("choice of screen.referral_urgency")], Said] = {}
    levels: dict[Annotated[str, Names("choice of screen.level")], Said] = {}
    outputs: dict[Output, Said] = {}
    trainings: dict[str, Said] = {}
    note: ReferralNote | None = None
    declined_referral: Plain | None = None
    withheld_line: Plain | None = None
    flags: dict[Annotated[str, Names("flag")], FlagWords] = {}

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return what may be said about training."""
        return {"training note": self.trainings}

    def completes(self) -> Iterable[tuple[str, str, Iterable[str]]]:
        """Return every flag, role and output, and the levels and urgencies if any has words."""
        levels = [("levels", "choice of screen.level", self.levels)] if self.levels else []
        return [
            ("flags", "flag", self.flags),
            ("roles", "role", self.roles),
            ("outputs", "output", self.outputs),
            ("urgencies", "choice of screen.referral_urgency", self.urgencies),
            *levels,
        ]

    def faults(self) -> Iterator[Fault]:
        """Yield what a note for a professional would lack about a flag."""
        wanted = ("note", "training", "rescreen_weeks") if self.note is not None else ()
        for flag, words in self.flags.items():
            for field in wanted:
                if getattr(words, field) is None:
                    yield Fault(
                        ("flags", flag), "missing-field", f"`flags.{flag}.{field}` is needed"
                    )
