"""How each exercise is done, one file a movement pattern (`rules/how_to/`), and in other languages.

The words are for the person who trains; `watch` alone is for the coach. What is easier or harder stands in
exercises.yaml and is not written again.
"""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field

from assistant.model.base import Document
from assistant.model.documents.exercises import ExerciseName, OfAPattern
from assistant.model.marks import Plain

Steps = Annotated[tuple[Plain, ...], Field(min_length=3, max_length=5)]


class Mistake(Document):
    """What goes wrong, as the person notices it, and what mends it."""

    fault: Plain
    mend: Plain


class HowToSaid(Document):
    """How one exercise is done, in the words of one language.

    feel: where it should work. stop: when to stop this set or the exercise today. first_load: how to find the
    first load. watch: where the coach stands and what to look at.
    """

    id: ExerciseName
    set_up: Plain
    steps: Steps
    feel: Plain
    faults: Annotated[tuple[Mistake, ...], Field(min_length=2, max_length=2)]
    stop: Plain
    first_load: Plain
    watch: Plain

    def for_client(self) -> Iterator[tuple[tuple[str | int, ...], str]]:
        """Yield every text that the person who trains reads, with its path."""
        for field in ("set_up", "feel", "stop", "first_load"):
            yield (field,), getattr(self, field)
        yield from ((("steps", number), step) for number, step in enumerate(self.steps))
        for number, each in enumerate(self.faults):
            yield ("faults", number, "fault"), each.fault
            yield ("faults", number, "mend"), each.mend


class HowTo(HowToSaid):
    """The same with what takes its place. without_kit: exercises for the same muscle that need less kit."""

    without_kit: tuple[ExerciseName, ...]


class HowToSaidFile(OfAPattern):
    """The exercises of one movement pattern in another language."""

    exercises: tuple[HowToSaid, ...]

    @property
    def by_id(self) -> Mapping[str, HowToSaid]:
        """The entries by exercise."""
        return {entry.id: entry for entry in self.exercises}

    @property
    def named(self) -> list[tuple[tuple[str | int, ...], str]]:
        """The exercises that stand here, each with its path."""
        return [(("exercises", at, "id"), each.id) for at, each in enumerate(self.exercises)]


class HowToFile(HowToSaidFile):
    """The exercises of one movement pattern, in English."""

    exercises: tuple[HowTo, ...]
