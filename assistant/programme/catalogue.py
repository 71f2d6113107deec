"""Exercises, muscles and movement patterns, with the coach's settings: all that a week is made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from assistant.model.documents.exercises import Exercise, ExerciseBook, Pattern
from assistant.model.documents.limits import Limit, LimitBook
from assistant.model.documents.muscles import Muscle, MuscleBook
from assistant.model.documents.week_settings import Settings
from assistant.model.sources import Source


@dataclass(frozen=True)
class Catalogue:
    """The trade's knowledge, ready for planning. Mappings go from id to record."""

    exercises: Mapping[str, Exercise]
    muscles: Mapping[str, Muscle]
    patterns: Mapping[str, Pattern]
    sources: Mapping[str, Source]
    settings: Settings
    limits: Mapping[str, Limit]
    flags: Mapping[str, str] = field(default_factory=dict)
    abilities: Mapping[str, str] = field(default_factory=dict)
    equipment: tuple[str, ...] = ()
    equipment_sets: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        exercises: ExerciseBook,
        muscles: MuscleBook,
        limits: LimitBook,
        settings: Settings,
        sources: Mapping[str, Source],
    ) -> Catalogue:
        """Put the documents of a rule book together."""
        return cls(
            exercises=exercises.by_id,
            muscles={muscle.id: muscle for muscle in muscles.muscles},
            patterns={pattern.id: pattern for pattern in exercises.patterns},
            sources=sources,
            settings=settings,
            limits=limits.by_id,
            flags=exercises.flags,
            abilities=exercises.abilities,
            equipment=exercises.equipment,
            equipment_sets=exercises.equipment_sets,
        )


def expand_equipment(catalogue: Catalogue, kit: Iterable[str]) -> frozenset[str]:
    """Replaces set names such as `dumbbells_home` by their pieces; the floor is always there.

    Raises `ValueError` naming the unknown piece.
    """
    pieces = {"bodyweight"}
    for name in kit:
        if name in catalogue.equipment_sets:
            pieces.update(catalogue.equipment_sets[name])
        elif name in catalogue.equipment:
            pieces.add(name)
        else:
            allowed = sorted({*catalogue.equipment_sets, *catalogue.equipment})
            raise ValueError(f"equipment: `{name}` is not known; allowed: {', '.join(allowed)}")
    return frozenset(pieces)
