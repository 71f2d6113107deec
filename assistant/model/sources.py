"""Where knowledge comes from, how we know it, and how sure it is."""

import datetime as dt
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from assistant.model.base import Document

SourceId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$")]


class Certainty(StrEnum):
    """How far to trust a statement, strongest first (meanings in rules/grades.yaml)."""

    STRONG = "strong"
    MODERATE = "moderate"
    LOW = "low"
    PRACTICE = "practice"


CERTAINTY_ORDER: tuple[Certainty, ...] = tuple(Certainty)


class Mark(StrEnum):
    """How we know what a source says. A mark never rises without reading the source."""

    READ = "read"
    SECOND_HAND = "second_hand"
    FROM_MEMORY = "from_memory"
    JUDGEMENT = "judgement"
    COMMON_PRACTICE = "common_practice"


# The best grade a part of a statement may carry, by the best mark among the sources that support it.
BEST_CERTAINTY_BY_MARK: dict[Mark, Certainty] = {
    Mark.READ: Certainty.STRONG,
    Mark.SECOND_HAND: Certainty.MODERATE,
    Mark.FROM_MEMORY: Certainty.LOW,
    Mark.JUDGEMENT: Certainty.PRACTICE,
    Mark.COMMON_PRACTICE: Certainty.PRACTICE,
}


# One of these alone, though read, makes nothing strong: that takes a second, or an agreed text.
SINGLE_WORKS = frozenset({"trial", "growth_trial", "activity_study", "dataset", "textbook"})


class Reading(Document):
    """The last time a source was gone back to: what was read, where, and what it printed.

    outcome: `confirmed` (it says what we took from it), `corrected` (a figure of ours was changed),
    `narrowed` (we took more than it says; the rest was dropped or moved to another source),
    `not_found`. `figure` is what the text prints, or where was looked in vain. `moved`: the plans
    that a correction moved.
    """

    date: dt.date
    outcome: Literal["confirmed", "corrected", "narrowed", "not_found"]
    what: Literal["paper", "abstract", "table", "guideline", "notice", "summary"] | None = None
    where: str | None = None
    figure: str
    moved: str | None = None

    @model_validator(mode="after")
    def _says_what_was_read(self) -> Self:
        was_found = self.outcome != "not_found"
        if was_found != (self.what is not None) or was_found != (self.where is not None):
            raise ValueError("a reading needs `what` and `where`; one with `not_found` has neither")
        if (self.moved is not None) != (self.outcome == "corrected"):
            raise ValueError("`moved` stands with `corrected`: name the plans, or write `none`")
        return self


class Source(Document):
    """A source, in our own paraphrase. `says` is what we take from it.

    kind: of trials of exercises, `growth_trial` measured growth, `activity_study` activity alone.
    """

    id: SourceId
    kind: Literal[
        "trial", "growth_trial", "activity_study", "review", "meta_analysis", "position_stand",
        "guideline", "standard", "dataset", "textbook", "common_practice", "judgement",
    ]  # fmt: skip
    citation: str
    says: str
    mark: Mark
    doi: str | None = None
    reading: Reading | None = None

    @property
    def cited(self) -> str:
        """Its name, how well it is known, and where it stands."""
        return f"{self.id} ({self.mark.value.replace('_', ' ')}): {self.citation}"

    @model_validator(mode="after")
    def _is_marked_as_it_was_read(self) -> Self:
        """A mark is no better than the last look: a summary of a text is the text at second hand."""
        if self.reading is not None and self.mark is Mark.READ:
            if self.reading.outcome == "not_found":
                raise ValueError(
                    "`read`, but the last look did not find it; mark it as it is known"
                )
            if self.reading.what == "summary":
                raise ValueError("`read`, but only a summary was seen; mark it second_hand")
        return self


class SourceUse(Document):
    """How a rule or parameter uses a source: `supports` says which part of the statement."""

    ref: SourceId
    supports: str
    where: str | None = None


class Grade(Document):
    """Certainty of one statement, with the reason in a few words."""

    certainty: Certainty
    note: str


class GradeMeaning(Document):
    """What a certainty word means, for the reader of a plan."""

    id: Certainty
    meaning: str


def strongest(grades: list[Certainty]) -> Certainty:
    """Return the strongest of some certainties, of which there is at least one."""
    return min(grades, key=CERTAINTY_ORDER.index)


def weakest(grades: list[Certainty]) -> Certainty:
    """Return the weakest of some certainties (practice is weakest); strong if there are none."""
    if not grades:
        return Certainty.STRONG
    return max(grades, key=CERTAINTY_ORDER.index)
