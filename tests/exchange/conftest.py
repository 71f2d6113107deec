"""The shipped rules, one case, and a week made by hand: real weeks are solved in the slow tests."""

from pathlib import Path
from typing import Any

import pytest

from assistant.casefiles import read_case
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import (
    Line,
    MuscleWeek,
    NotChosen,
    Phase,
    Programme,
    Session,
    Substitute,
    Unmet,
)

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def case(kb: KnowledgeBase) -> Case:
    return read_case(ROOT / "cases/two_short_evenings.yaml", kb)


def _line(order: int, exercise: str, **other: Any) -> Line:
    plain: dict[str, Any] = {
        "order": order, "exercise": exercise, "name": exercise.replace("_", " ").capitalize(),
        "sets": 3, "measure": "repetitions", "low": 8, "high": 12, "rir": 2, "rest_s": 105,
        "zone": "moderate", "load_kg": None, "load_note": "find it in the first set", "seconds": 300,
        "reason": "trains what comes first", "substitutes": (),
    }  # fmt: skip
    return Line(**plain | other)


@pytest.fixture(scope="session")
def programme() -> Programme:
    """Two sessions that hold every field a week can have, the ones left out elsewhere too."""
    other = Substitute("split_squat", "Split squat", "equipment", "needs no machine")
    loaded = _line(1, "leg_press", load_kg=42.5, substitutes=(other,))
    held = _line(2, "plank", measure="seconds", low=20, high=40)
    return Programme(
        sessions=(
            Session("tue", "full", 34.5, 35, (loaded, held)),
            Session("fri", "short", 20.0, 35, (_line(1, "lat_pulldown"),)),
        ),
        muscles=(MuscleWeek("lats", 3.0, 1, 2.0, 3.0, 5.0, 2.0, priority=True),),
        unmet=(Unmet("floor", "calves", 2.0, 0.0, "no time is left", "10 minutes more"),),
        phases=(Phase("whole_body", "Whole body", "first", "optimal", 0, 0, 0.0, ""),),
        not_chosen=(NotChosen("hack_squat", "lower_rank", "ranks below", 7, "leg_press"),),
        binding=("tue: the clock",),
        notes=("made by hand",),
        day_types={"tue": "full", "fri": "short"},
        shape_reason="the day types were set by the rules",
    )
