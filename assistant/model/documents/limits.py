"""limits.yaml: what the sessions leave out when a limit is in force."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal

from assistant.model.base import Document, Fault, RuleFile, repeated
from assistant.model.documents.exercises import (
    Equipment,
    Exercise,
    ExerciseName,
    PatternName,
    Steps,
)
from assistant.model.marks import Names, Plain
from assistant.model.sources import Mark


class Limit(Document):
    """What one limit takes out of the pool of exercises, and the line that says so.

    An exercise that matches any of the lists is taken. `zones` are repetition zones nothing is
    planned in. `sessions` true: no lifting session at all. `mark` and `why` say what it rests on.
    """

    id: Annotated[str, Names("limit")]
    say: Plain
    mark: Mark
    why: Plain
    sessions: bool = False
    flags: tuple[Annotated[str, Names("mark of an exercise")], ...] = ()
    positions: tuple[Annotated[str, Names("position")], ...] = ()
    patterns: tuple[PatternName, ...] = ()
    axial_loads: tuple[Annotated[str, Names("axial load")], ...] = ()
    measures: tuple[Annotated[str, Names("measure of a set")], ...] = ()
    equipment: tuple[Equipment, ...] = ()
    exercises: tuple[ExerciseName, ...] = ()
    zones: tuple[Annotated[str, Names("zone")], ...] = ()
    skill_from: Steps | None = None
    covers: tuple[Annotated[str, Names("limit")], ...] = ()

    def takes(self, exercise: Exercise) -> bool:
        """True if the exercise itself is taken, whatever zone it would be planned in."""
        kits = [{piece} for piece in exercise.equipment]
        kits += [set(choice) for choice in exercise.equipment_any]
        return (
            exercise.id in self.exercises
            or exercise.pattern in self.patterns
            or exercise.position in self.positions
            or exercise.axial_load in self.axial_loads
            or exercise.measure in self.measures
            or any(flag in self.flags for flag in exercise.flags)
            or any(kit <= set(self.equipment) for kit in kits)
            or (self.skill_from is not None and exercise.skill >= self.skill_from)
        )


class LimitBook(RuleFile):
    """The whole file."""

    schema_version: Literal[1]
    limits: tuple[Limit, ...]

    @property
    def by_id(self) -> Mapping[str, Limit]:
        """The limits by id, in their order."""
        return {limit.id: limit for limit in self.limits}

    def completes(self) -> Iterable[tuple[str, str, Iterable[str]]]:
        """Return the limits that rules can bring into force."""
        return [("limits", "limit", self.by_id)]

    def faults(self) -> Iterator[Fault]:
        """Yield ids that stand twice."""
        return repeated((("limits", n, "id"), limit.id) for n, limit in enumerate(self.limits))
