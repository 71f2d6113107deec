"""Exercises, muscles and movement patterns, with the coach's settings: all that a week is made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.programme.catalogue_checks import check_catalogue
from assistant.programme.limits import Limit
from assistant.programme.reading import (
    DocumentError,
    Fault,
    Faults,
    list_at,
    mapping_at,
    record_at,
    settings_at,
)
from assistant.programme.settings import (
    ClockSettings,
    LimitSettings,
    LoadSettings,
    PoolSettings,
    ProgressionSettings,
    ScoreSettings,
    Settings,
    SpacingSettings,
    WeekSettings,
    ZoneSettings,
)
from assistant.programme.trade import HALF_CREDIT, Exercise, Muscle, Pattern, Source, Words

__all__ = [
    "Catalogue",
    "DocumentError",
    "Exercise",
    "Fault",
    "Muscle",
    "Pattern",
    "Source",
    "catalogue_from_documents",
    "equipment_gaps",
    "expand_equipment",
]


@dataclass(frozen=True)
class Catalogue:
    """The trade's knowledge, ready for planning. Mappings go from id to record."""

    exercises: Mapping[str, Exercise]
    muscles: Mapping[str, Muscle]
    patterns: Mapping[str, Pattern]
    sources: Mapping[str, Source]
    words: Words
    settings: Settings
    limits: Mapping[str, Limit]
    equipment_sets: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def catalogue_from_documents(
    exercises: Mapping[str, Any],
    muscles: Mapping[str, Any],
    programme: Mapping[str, Any],
    limits: Mapping[str, Any],
) -> Catalogue:
    """Builds the catalogue from the four parsed documents.

    Raises `DocumentError` with every fault found; a path starts with the name of the document.
    """
    faults = Faults()
    settings = _settings(faults, programme)
    muscle_records = _records(faults, Muscle, muscles.get("muscles"), "muscles.muscles")
    pattern_records = _records(faults, Pattern, exercises.get("patterns"), "exercises.patterns")
    exercise_records = _records(faults, Exercise, exercises.get("exercises"), "exercises.exercises")
    limit_records = _records(faults, Limit, limits.get("limits"), "limits.limits")
    sources = _sources(faults, exercises.get("sources"))
    words = record_at(
        faults,
        Words,
        {name: exercises[name] for name in Words.__dataclass_fields__ if name in exercises},
        "exercises",
    )
    sets = {
        name: tuple(list_at(faults, kit, f"exercises.equipment_sets.{name}"))
        for name, kit in mapping_at(
            faults, exercises.get("equipment_sets", {}), "exercises.equipment_sets"
        ).items()
    }
    known = {"schema_version", "equipment_sets", "patterns", "sources", "exercises"}
    for key in exercises:
        if key not in known and key not in Words.__dataclass_fields__:
            faults.unknown(f"exercises.{key}", "key", key, known | set(Words.__dataclass_fields__))
    if faults.items or words is None or settings is None:
        raise DocumentError(faults.items)
    catalogue = Catalogue(
        exercises=exercise_records,
        muscles=muscle_records,
        patterns=pattern_records,
        sources=sources,
        words=words,
        settings=settings,
        limits=limit_records,
        equipment_sets=sets,
    )
    check_catalogue(faults, catalogue)
    if faults.items:
        raise DocumentError(faults.items)
    return catalogue


def expand_equipment(catalogue: Catalogue, kit: Iterable[str]) -> frozenset[str]:
    """Replaces set names such as `dumbbells_home` by their pieces; the floor is always there.

    Raises `ValueError` naming the unknown piece.
    """
    pieces = {"bodyweight"}
    for name in kit:
        if name in catalogue.equipment_sets:
            pieces.update(catalogue.equipment_sets[name])
        elif name in catalogue.words.equipment:
            pieces.add(name)
        else:
            allowed = sorted({*catalogue.equipment_sets, *catalogue.words.equipment})
            raise ValueError(f"equipment: `{name}` is not known; allowed: {', '.join(allowed)}")
    return frozenset(pieces)


def equipment_gaps(catalogue: Catalogue) -> tuple[tuple[str, str], ...]:
    """Lists (equipment set, muscle) pairs that no exercise of the set trains with half credit."""
    gaps: list[tuple[str, str]] = []
    for name, kit in catalogue.equipment_sets.items():
        reachable = {
            muscle
            for exercise in catalogue.exercises.values()
            if exercise.possible_with(frozenset(kit))
            for muscle, credit in exercise.credits.items()
            if credit >= HALF_CREDIT
        }
        gaps += [
            (name, muscle.id)
            for muscle in catalogue.muscles.values()
            if muscle.volume_target and muscle.id not in reachable
        ]
    return tuple(gaps)


_SECTIONS: Mapping[str, type[Any]] = {
    "clock": ClockSettings,
    "limits": LimitSettings,
    "spacing": SpacingSettings,
    "zones": ZoneSettings,
    "score": ScoreSettings,
    "pool": PoolSettings,
    "loads": LoadSettings,
    "progression": ProgressionSettings,
    "week": WeekSettings,
}


def _settings(faults: Faults, document: Mapping[str, Any]) -> Settings | None:
    sources = mapping_at(faults, document.get("sources", {}), "programme.sources")
    for key in document:
        if key not in _SECTIONS and key not in ("schema_version", "sources"):
            faults.unknown(f"programme.{key}", "section", key, _SECTIONS)
    sections = {
        name: settings_at(faults, kind, document.get(name, {}), f"programme.{name}", sources)
        for name, kind in _SECTIONS.items()
    }
    if any(section is None for section in sections.values()):
        return None
    return Settings(**{name: section for name, section in sections.items() if section is not None})


def _records(faults: Faults, kind: type[Any], value: object, path: str) -> dict[str, Any]:
    records: dict[str, Any] = {}
    for index, entry in enumerate(list_at(faults, value, path)):
        name = entry.get("id", index) if isinstance(entry, Mapping) else index
        record = record_at(faults, kind, entry, f"{path}[{name}]")
        if record is None:
            continue
        if record.id in records:
            faults.add(
                f"{path}[{name}]", f"the id `{name}` stands twice; give one of them a new id"
            )
        records[record.id] = record
    return records


def _sources(faults: Faults, value: object) -> dict[str, Source]:
    sources: dict[str, Source] = {}
    for name, entry in mapping_at(faults, value, "exercises.sources").items():
        source = record_at(faults, Source, entry, f"exercises.sources.{name}")
        if source is not None:
            sources[name] = source
    return sources
