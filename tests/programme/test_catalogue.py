"""The exercise table is complete and consistent; what the loader refuses is tested beside it."""

from __future__ import annotations

import pytest

from assistant.model.documents.exercises import HALF_CREDIT
from assistant.programme.catalogue import expand_equipment
from programme.documents import catalogue


def test_common_kit_reaches_every_muscle_but_two_known_gaps() -> None:
    trade = catalogue()
    reached = {
        (name, muscle)
        for name, kit in trade.equipment_sets.items()
        for exercise in trade.exercises.values()
        if exercise.possible_with(frozenset(kit))
        for muscle, credit in exercise.credits.items()
        if credit >= HALF_CREDIT
    }
    aimed_at = {muscle.id for muscle in trade.muscles.values() if muscle.volume_target}
    gaps = {(name, muscle) for name in trade.equipment_sets for muscle in aimed_at} - reached
    # Nothing on the floor pulls an arm down or bends a loaded elbow: common practice, no source.
    assert gaps == {("none", "lats"), ("none", "biceps")}


def test_equipment_names_expand() -> None:
    assert expand_equipment(catalogue(), ["bands_home"]) == {"bodyweight", "band"}
    with pytest.raises(ValueError, match="equipment: `bnad` is not known"):
        expand_equipment(catalogue(), ["bnad"])


def test_exercises_without_evidence_are_graded_practice() -> None:
    for exercise in catalogue().exercises.values():
        assert exercise.grade == ("low" if exercise.evidence else "practice"), exercise.id


def test_relatives_never_form_a_ring() -> None:
    exercises = catalogue().exercises

    def climb(name: str, seen: tuple[str, ...]) -> None:
        assert name not in seen, (*seen, name)
        for harder in exercises[name].progressions:
            climb(harder, (*seen, name))

    for name in exercises:
        climb(name, ())
