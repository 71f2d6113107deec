"""The exercise table: complete, consistent, and every fault named with its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from assistant.programme.catalogue import (
    DocumentError,
    catalogue_from_documents,
    equipment_gaps,
    expand_equipment,
)
from programme.documents import catalogue, documents

Documents = dict[str, Any]


def row(docs: Documents, name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(r for r in docs["exercises"]["exercises"] if r["id"] == name)
    return found


def test_common_kit_reaches_every_muscle_but_two_known_gaps() -> None:
    # Nothing on the floor pulls an arm down or bends a loaded elbow: common practice, no source.
    assert set(equipment_gaps(catalogue())) == {("none", "lats"), ("none", "biceps")}


def test_equipment_names_expand() -> None:
    assert expand_equipment(catalogue(), ["bands_home"]) == {"bodyweight", "band"}
    with pytest.raises(ValueError, match="equipment: `bnad` is not known"):
        expand_equipment(catalogue(), ["bnad"])


def test_unread_sources_never_earn_more_than_low() -> None:
    for section in documents()["programme"].values():
        if not isinstance(section, dict):
            continue
        for name, entry in section.items():
            if isinstance(entry, dict) and entry["mark"] != "read":
                assert entry["grade"] in ("low", "practice"), name


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


BROKEN: list[tuple[str, Callable[[Documents], object], str, str]] = [
    (
        "pattern",
        lambda d: row(d, "leg_press").update(pattern="leg_pres"),
        "exercises.exercises[leg_press].pattern",
        "did you mean `leg_press`?",
    ),
    (
        "muscle",
        lambda d: row(d, "leg_press")["primary"].update(quadz=1.0),
        "exercises.exercises[leg_press].primary",
        "did you mean `quads`?",
    ),
    (
        "credit",
        lambda d: row(d, "leg_press")["primary"].update(quads=0.8),
        "exercises.exercises[leg_press].quads",
        "0.8 is not one of",
    ),
    (
        "skill",
        lambda d: row(d, "leg_press").update(skill=4),
        "exercises.exercises[leg_press].skill",
        "4 is not one of 1, 2, 3",
    ),
    (
        "rest",
        lambda d: row(d, "leg_press").update(rest_s="long"),
        "exercises.exercises[leg_press].rest_s",
        "expected a whole number, found 'long'",
    ),
    (
        "yes",
        lambda d: row(d, "leg_press").update(unilateral=1),
        "exercises.exercises[leg_press].unilateral",
        "expected true or false",
    ),
    (
        "extra",
        lambda d: row(d, "leg_press").update(tempo=3),
        "exercises.exercises[leg_press].tempo",
        "key `tempo` is not known",
    ),
    (
        "missing",
        lambda d: row(d, "leg_press").pop("position"),
        "exercises.exercises[leg_press]",
        "has no `position`",
    ),
    (
        "link",
        lambda d: row(d, "push_up").update(progressions=[]),
        "exercises.exercises[push_up_close].regressions",
        "does not name it under progressions",
    ),
    (
        "twice",
        lambda d: d["exercises"]["exercises"].append(row(d, "leg_press")),
        "exercises.exercises[leg_press]",
        "stands twice",
    ),
    (
        "unmarked",
        lambda d: d["programme"]["clock"]["warm_up_s"].pop("mark"),
        "programme.clock.warm_up_s",
        "has no `mark`",
    ),
    (
        "source",
        lambda d: d["programme"]["clock"]["warm_up_s"].update(source="iversn2021"),
        "programme.clock.warm_up_s.source",
        "did you mean `iversen2021`?",
    ),
    (
        "outside",
        lambda d: d["programme"]["clock"]["warm_up_s"].update(value=5),
        "programme.clock.warm_up_s.value",
        "5 is outside the allowed 120 to 900",
    ),
    (
        "section",
        lambda d: d["programme"].update(clocks={}),
        "programme.clocks",
        "did you mean `clock`?",
    ),
    (
        "shape",
        lambda d: d["programme"]["week"]["shapes"]["value"][0].update(types=["ful"]),
        "programme.week.shapes[one_full]",
        "did you mean `full`?",
    ),
    (
        "tight",
        lambda d: d["programme"]["week"]["tight_weeks"]["value"].update(muscles=["ab"]),
        "programme.week.tight_weeks",
        "did you mean `abs`?",
    ),
    (
        "wish",
        lambda d: d["programme"]["week"]["day_wishes"]["value"]["lower"][0].update(
            patterns=["squats"]
        ),
        "programme.week.day_wishes.lower[knee_dominant]",
        "did you mean `squat`?",
    ),
    ("muscles", lambda d: d["muscles"].update(muscles={}), "muscles.muscles", "expected a list"),
]


@pytest.mark.parametrize(
    ("spoil", "path", "message"), [item[1:] for item in BROKEN], ids=[item[0] for item in BROKEN]
)
def test_a_fault_names_its_place(
    spoil: Callable[[Documents], object], path: str, message: str
) -> None:
    docs = documents()
    spoil(docs)
    with pytest.raises(DocumentError) as caught:
        catalogue_from_documents(**docs)
    assert any(fault.path == path and message in fault.message for fault in caught.value.faults), (
        caught.value.faults
    )


def test_all_faults_come_at_once() -> None:
    docs = documents()
    row(docs, "leg_press").update(skill=4, pattern="leg_pres")
    row(docs, "push_up").update(skill=0)
    with pytest.raises(DocumentError) as caught:
        catalogue_from_documents(**docs)
    assert len(caught.value.faults) >= 3
