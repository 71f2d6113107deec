"""exercises.yaml: what the trade knows about each exercise, and the words it is told in."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document, Fault, Graded, RuleFile, repeated
from assistant.model.documents.muscles import Region
from assistant.model.facts import Identifier
from assistant.model.marks import Names, Plain, SourceName
from assistant.model.sources import Certainty

Equipment = Annotated[str, Names("piece of equipment")]
ExerciseName = Annotated[str, Names("exercise")]
PatternName = Annotated[str, Names("movement pattern")]
CountedMuscle = Annotated[str, Names("counted muscle")]
Credits = dict[CountedMuscle, float]
Seconds = Annotated[int, Field(ge=0, le=600)]
Steps = Literal[1, 2, 3]
# One hard set adds this much to a muscle it trains fully, or helps strongly.
FULL_CREDIT = 1.0
HALF_CREDIT = 0.5
HIGHEST_SKILL = 3
# Loadability of a lift whose load goes up in small steps for years.
SMALL_STEPS = 3
_CREDITS = (0.25, HALF_CREDIT, FULL_CREDIT)


class Pattern(Document):
    """A movement pattern. joints: what it moves under load."""

    id: Identifier
    joints: tuple[Annotated[str, Names("joint")], ...]
    name: Plain
    region: Region
    kind: Literal["compound", "single_joint", "trunk"]
    meaning: Plain


class OfAPattern(RuleFile):
    """A file named after a movement pattern, about its exercises."""

    schema_version: Literal[1]

    @property
    def named(self) -> list[tuple[tuple[str | int, ...], str]]:
        """The exercises that stand here, each with its path."""
        return []

    def faults(self) -> Iterator[Fault]:
        """Yield exercises that stand twice."""
        yield from repeated(self.named)


class Exercise(Document):
    """One exercise. Credits are fractional sets a muscle earns from one hard set.

    needs_ability: planned only for who says that they can do it. repetitions: a range of its own, printed instead of the zone's.
    """

    id: Identifier
    name: Plain
    pattern: PatternName
    measure: Annotated[str, Names("measure of a set")]
    equipment: tuple[Equipment, ...]
    equipment_any: tuple[tuple[Equipment, ...], ...] = ()
    primary: Annotated[Credits, Field(min_length=1)]
    secondary: Credits
    unilateral: bool
    axial_load: Annotated[str, Names("axial load")]
    skill: Steps
    loadability: Steps
    joint_stress: tuple[Annotated[str, Names("joint")], ...]
    home_friendly: bool
    rep_zones: Annotated[tuple[Annotated[str, Names("zone")], ...], Field(min_length=1)]
    repetitions: Annotated[tuple[int, ...], Field(min_length=2, max_length=2)] | None = None
    needs_ability: Annotated[str, Names("ability")] | None = None
    rest_s: Seconds
    setup_s: Seconds
    position: Annotated[str, Names("position")]
    peak_tension: Annotated[str, Names("peak of tension")]
    flags: tuple[Annotated[str, Names("mark of an exercise")], ...]
    regressions: tuple[ExerciseName, ...]
    progressions: tuple[ExerciseName, ...]
    evidence: tuple[SourceName, ...]
    grade: Certainty

    @property
    def credits(self) -> Mapping[str, float]:
        """All credits, primary and secondary together."""
        return {**self.primary, **self.secondary}

    @property
    def prime_movers(self) -> frozenset[str]:
        """The muscles with the most credit, which it is there for."""
        most = max(self.primary.values())
        return frozenset(muscle for muscle, credit in self.primary.items() if credit >= most)

    def is_there_for(self, muscle: str) -> bool:
        """True if it is done for the muscle's own sake: it earns full credit."""
        return self.credits.get(muscle, 0.0) >= FULL_CREDIT

    def possible_with(self, kit: frozenset[str]) -> bool:
        """True if every needed piece is in `kit` (the floor counts as always there)."""
        return all(piece in kit or piece == "bodyweight" for piece in self.equipment) and all(
            any(piece in kit for piece in choice) for choice in self.equipment_any
        )


class ExerciseBook(RuleFile):
    """The whole file."""

    schema_version: Literal[1]
    measures: tuple[Literal["repetitions", "seconds"], ...]
    axial_loads: tuple[Identifier, ...]
    positions: tuple[Identifier, ...]
    peak_tensions: tuple[Identifier, ...]
    flags: dict[Identifier, Plain]
    abilities: dict[Identifier, Plain]
    equipment: tuple[Identifier, ...]
    equipment_sets: dict[Identifier, tuple[Equipment, ...]]
    patterns: tuple[Pattern, ...]
    exercises: tuple[Exercise, ...]

    @property
    def by_id(self) -> Mapping[str, Exercise]:
        """The exercises by id."""
        return {exercise.id: exercise for exercise in self.exercises}

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return every word that an exercise, a setting or a client's answer may use."""
        return {
            "measure of a set": self.measures,
            "axial load": self.axial_loads,
            "position": self.positions,
            "peak of tension": self.peak_tensions,
            "mark of an exercise": self.flags,
            "ability": self.abilities,
            "piece of equipment": self.equipment,
            "kind of load": [*self.equipment, "machine"],
            "movement pattern": [pattern.id for pattern in self.patterns],
            "exercise": self.by_id,
        }

    def graded(self) -> Iterator[Graded]:
        """Yield the exercises with the studies that touch them."""
        for number, row in enumerate(self.exercises):
            yield Graded(("exercises", number, "grade"), row.grade, row.evidence)

    def faults(self) -> Iterator[Fault]:
        """Yield ids that stand twice, muscles that do, and links that go one way."""
        patterns, exercises = enumerate(self.patterns), enumerate(self.exercises)
        yield from repeated((("patterns", number, "id"), row.id) for number, row in patterns)
        yield from repeated((("exercises", number, "id"), row.id) for number, row in exercises)
        by_id = self.by_id
        for number, exercise in enumerate(self.exercises):
            path = ("exercises", number)
            for muscle in exercise.primary.keys() & exercise.secondary.keys():
                text = f"`{muscle}` stands in primary too; keep one of them"
                yield Fault((*path, "secondary", muscle), "repeated-id", text)
            for field in ("primary", "secondary"):
                for muscle, credit in getattr(exercise, field).items():
                    if credit not in _CREDITS:
                        text = f"credit {credit:g} is not one of 0.25, 0.5, 1"
                        yield Fault((*path, field, muscle), "bad-value", text)
            yield from _link_faults(path, exercise, by_id)


def _link_faults(
    path: tuple[str | int, ...], exercise: Exercise, by_id: Mapping[str, Exercise]
) -> Iterator[Fault]:
    for field, back in (("progressions", "regressions"), ("regressions", "progressions")):
        for place, name in enumerate(getattr(exercise, field)):
            other = by_id.get(name)
            if other is None:
                continue
            if exercise.id not in getattr(other, back):
                text = f"`{name}` does not name `{exercise.id}` under {back}"
                yield Fault((*path, field, place), "one-way-link", text)
            if field == "regressions" and other.skill > exercise.skill:
                text = f"`{name}` asks for more skill; an easier relative may not"
                yield Fault((*path, field, place), "bad-value", text)
