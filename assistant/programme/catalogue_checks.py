"""Cross-checks of a catalogue: every name used is declared, every link goes both ways."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from assistant.programme.limits import Limit
from assistant.programme.reading import GRADES, MARKS, Faults
from assistant.programme.trade import Exercise

if TYPE_CHECKING:
    from assistant.programme.catalogue import Catalogue

KINDS = ("compound", "single_joint", "trunk")
_CREDITS = (0.25, 0.5, 1.0)
_SKILLS = (1, 2, 3)
_LONGEST_S = 600


def check_catalogue(faults: Faults, catalogue: Catalogue) -> None:
    """Notes every broken reference and impossible value of `catalogue`."""
    for pattern in catalogue.patterns.values():
        _known(faults, f"exercises.patterns[{pattern.id}].kind", "kind", [pattern.kind], KINDS)
    for name, source in catalogue.sources.items():
        _known(faults, f"exercises.sources.{name}.mark", "mark", [source.mark], MARKS)
    for name, kit in catalogue.equipment_sets.items():
        place = f"exercises.equipment_sets.{name}"
        _known(faults, place, "equipment", kit, catalogue.words.equipment)
    for exercise in catalogue.exercises.values():
        _check_exercise(faults, catalogue, exercise)
        _check_links(faults, catalogue, exercise)
    for limit in catalogue.limits.values():
        _check_limit(faults, catalogue, limit)
    _check_settings(faults, catalogue)
    trained = {muscle for exercise in catalogue.exercises.values() for muscle in exercise.primary}
    for muscle in catalogue.muscles.values():
        if muscle.volume_target and muscle.id not in trained:
            faults.add(
                f"muscles.muscles[{muscle.id}]",
                "no exercise has it as primary muscle; add one or set volume_target to false",
            )


def _check_exercise(faults: Faults, catalogue: Catalogue, exercise: Exercise) -> None:
    path, words = f"exercises.exercises[{exercise.id}]", catalogue.words
    zones = catalogue.settings.zones.repetitions
    kit = [*exercise.equipment, *(piece for choice in exercise.equipment_any for piece in choice)]
    for key, what, used, allowed in (
        ("pattern", "pattern", [exercise.pattern], catalogue.patterns),
        ("measure", "measure", [exercise.measure], words.measures),
        ("equipment", "equipment", kit, words.equipment),
        ("primary", "muscle", exercise.primary, catalogue.muscles),
        ("secondary", "muscle", exercise.secondary, catalogue.muscles),
        ("axial_load", "load", [exercise.axial_load], words.axial_loads),
        ("joint_stress", "joint", exercise.joint_stress, words.joints),
        ("position", "position", [exercise.position], words.positions),
        ("peak_tension", "place", [exercise.peak_tension], words.peak_tensions),
        ("flags", "flag", exercise.flags, words.flags),
        ("rep_zones", "zone", exercise.rep_zones, zones),
        ("evidence", "source", exercise.evidence, catalogue.sources),
        ("grade", "grade", [exercise.grade], GRADES),
        ("regressions", "exercise", exercise.regressions, catalogue.exercises),
        ("progressions", "exercise", exercise.progressions, catalogue.exercises),
    ):
        _known(faults, f"{path}.{key}", what, used, allowed)
    _check_credits(faults, exercise, path)
    if not exercise.rep_zones:
        faults.add(f"{path}.rep_zones", "is empty; name at least one zone")
    for key, value in (("skill", exercise.skill), ("loadability", exercise.loadability)):
        if value not in _SKILLS:
            faults.add(f"{path}.{key}", f"{value} is not one of 1, 2, 3")
    for key, seconds in (("rest_s", exercise.rest_s), ("setup_s", exercise.setup_s)):
        if not 0 <= seconds <= _LONGEST_S:
            faults.add(f"{path}.{key}", f"{seconds} is outside 0 to {_LONGEST_S} seconds")


def _check_credits(faults: Faults, exercise: Exercise, path: str) -> None:
    for muscle, credit in exercise.credits.items():
        if credit not in _CREDITS:
            faults.add(f"{path}.{muscle}", f"credit {credit} is not one of 0.25, 0.5, 1.0")
    for muscle in exercise.primary.keys() & exercise.secondary.keys():
        faults.add(f"{path}.secondary", f"`{muscle}` stands in primary too; keep one of them")
    if not exercise.primary:
        faults.add(f"{path}.primary", "is empty; name the muscle the exercise is chosen for")


def _check_limit(faults: Faults, catalogue: Catalogue, limit: Limit) -> None:
    path, words = f"limits.limits[{limit.id}]", catalogue.words
    for key, what, used, allowed in (
        ("flags", "flag", limit.flags, words.flags),
        ("positions", "position", limit.positions, words.positions),
        ("patterns", "pattern", limit.patterns, catalogue.patterns),
        ("axial_loads", "load", limit.axial_loads, words.axial_loads),
        ("measures", "measure", limit.measures, words.measures),
        ("equipment", "equipment", limit.equipment, words.equipment),
        ("exercises", "exercise", limit.exercises, catalogue.exercises),
        ("zones", "zone", limit.zones, catalogue.settings.zones.repetitions),
        ("covers", "limit", limit.covers, catalogue.limits),
        ("mark", "mark", [limit.mark], MARKS),
    ):
        _known(faults, f"{path}.{key}", what, used, allowed)


def _check_links(faults: Faults, catalogue: Catalogue, exercise: Exercise) -> None:
    path = f"exercises.exercises[{exercise.id}]"
    for harder in exercise.progressions:
        other = catalogue.exercises.get(harder)
        if other is not None and exercise.id not in other.regressions:
            faults.add(f"{path}.progressions", f"`{harder}` does not name it under regressions")
    for easier in exercise.regressions:
        other = catalogue.exercises.get(easier)
        if other is None:
            continue
        if exercise.id not in other.progressions:
            faults.add(f"{path}.regressions", f"`{easier}` does not name it under progressions")
        if other.skill > exercise.skill:
            faults.add(
                f"{path}.regressions", f"`{easier}` asks for more skill; an easier relative may not"
            )


def _check_settings(faults: Faults, catalogue: Catalogue) -> None:
    week, words = catalogue.settings.week, catalogue.words
    for family in week.families:
        place = f"programme.week.families[{family.id}]"
        _known(faults, place, "pattern", family.patterns, catalogue.patterns)
    for muscle, angles in week.angles.items():
        place = f"programme.week.angles.{muscle}"
        _known(faults, place, "muscle", [muscle], catalogue.muscles)
        for angle in angles:
            _known(faults, f"{place}[{angle.id}]", "pattern", angle.patterns, catalogue.patterns)
    for key, patterns in (
        ("push_patterns", week.push_patterns),
        ("pull_patterns", week.pull_patterns),
    ):
        _known(faults, f"programme.week.{key}", "pattern", patterns, catalogue.patterns)
    for shape in week.shapes:
        _known(
            faults, f"programme.week.shapes[{shape.id}]", "day type", shape.types, week.day_regions
        )
    place = "programme.week.remedy_equipment"
    _known(faults, place, "equipment", week.remedy_equipment, words.equipment)
    _check_whole_body(faults, catalogue)


def _check_whole_body(faults: Faults, catalogue: Catalogue) -> None:
    week = catalogue.settings.week
    for key, days in (("day_parts", week.day_parts), ("day_wishes", week.day_wishes)):
        for day_type, parts in days.items():
            place = f"programme.week.{key}.{day_type}"
            _known(faults, place, "day type", [day_type], week.day_regions)
            for part in parts:
                _known(faults, f"{place}[{part.id}]", "pattern", part.patterns, catalogue.patterns)
    _known(
        faults,
        "programme.week.tight_weeks",
        "muscle",
        week.tight_weeks.muscles,
        catalogue.muscles,
    )
    for group in week.public_minimum.groups:
        place = f"programme.week.public_minimum[{group.id}]"
        _known(faults, place, "muscle", group.muscles, catalogue.muscles)


def _known(
    faults: Faults, path: str, what: str, used: Iterable[str], allowed: Iterable[str]
) -> None:
    names = set(allowed)
    for name in used:
        if name not in names:
            faults.unknown(path, what, name, names)
