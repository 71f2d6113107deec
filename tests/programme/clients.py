"""Invented clients of a small-town gym, made by a seeded generator."""

from __future__ import annotations

import dataclasses
import random

from assistant.programme.catalogue import expand_equipment
from assistant.programme.request import DAYS, ProgrammeRequest, SessionCap, SetTarget
from programme.documents import catalogue

# Weekly fractional sets (low, target) at a full training week: the typical bands of the research
# note (judgement, fitted to Schoenfeld 2017, Baz-Valle 2022 and Pelland 2025).
PRIORITY = (10.0, 16.0)
ORDINARY = {
    "glute_max": (4.0, 8.0),
    "glute_med_min": (2.0, 6.0),
    "hamstrings": (3.0, 7.0),
    "quads": (4.0, 8.0),
    "adductors": (2.0, 4.0),
    "calves": (2.0, 4.0),
    "lats": (4.0, 8.0),
    "mid_upper_back": (4.0, 8.0),
    "front_delts": (2.0, 4.0),
    "side_delts": (3.0, 6.0),
    "rear_delts": (2.0, 5.0),
    "chest": (3.0, 6.0),
    "biceps": (2.0, 5.0),
    "triceps": (2.0, 5.0),
    "abs": (2.0, 3.0),
    "obliques": (2.0, 3.0),
    "spinal_erectors": (2.0, 3.0),
}
AIMS = (
    ("glute_max", "lats", "side_delts"),
    ("glute_max", "glute_med_min"),
    ("lats", "side_delts"),
    ("glute_max", "hamstrings"),
    ("side_delts", "lats", "quads"),
    (),
)
CEILINGS = {"novice": 12.0, "intermediate": 20.0, "advanced": 22.0}
CAPS = {"novice": (6.0, 8.0), "intermediate": (8.0, 10.0), "advanced": (8.0, 11.0)}
KITS = (("full_gym",), ("full_gym",), ("dumbbells_home",), ("bands_home",), ("none",))
WEEK_MINUTES_FOR_FULL_TARGETS = 230


def request(
    days: str,
    minutes: int,
    *,
    kit: tuple[str, ...] = ("full_gym",),
    level: str = "intermediate",
    age: int = 31,
    aims: tuple[str, ...] = ("glute_max", "lats", "side_delts"),
    scale: float | None = None,
    **more: object,
) -> ProgrammeRequest:
    """A request as the rules upstream would make it: targets shrink with the week's minutes."""
    free = tuple(days.split())
    if scale is None:
        scale = min(1.0, max(0.4, len(free) * minutes / WEEK_MINUTES_FOR_FULL_TARGETS))
    targets = {}
    for muscle, band in ORDINARY.items():
        low, target = PRIORITY if muscle in aims else band
        ceiling = max(CEILINGS[level], 2.0)
        quarter = [min(ceiling, round(4 * value * scale) / 4) for value in (low, target)]
        targets[muscle] = SetTarget(quarter[0], quarter[1], ceiling)
    sessions = dict.fromkeys(ORDINARY, min(2, len(free)))
    sessions.update({muscle: min(3, len(free)) for muscle in aims if len(free) >= 3})
    floor = 4.0 if age >= 60 else 2.0
    floors = {
        muscle: floor if muscle in ("glute_max", "quads", "lats", "chest") else 2.0
        for muscle in ORDINARY
    }
    return ProgrammeRequest(
        available_days=free,
        minutes_per_session=minutes,
        training_level=level,
        age_years=age,
        target_sets=targets,
        session_cap_sets=SessionCap(*CAPS[level]),
        floors_sets=floors,
        rir_compound=3 if level == "novice" else 2,
        rir_single_joint=2 if level == "novice" else 1,
        equipment=expand_equipment(catalogue(), kit),
        priority_muscles=aims,
        target_sessions=sessions,
        **more,  # type: ignore[arg-type]
    )


def generated(count: int, seed: int) -> list[ProgrammeRequest]:
    """Clients with 2 to 6 days, 20 to 90 minutes, any kit, none to three sore joints, any age."""
    draw = random.Random(seed)
    joints = ("knee", "low_back", "shoulder", "hip", "wrist", "elbow")
    made = []
    for number in range(count):
        days = sorted(draw.sample(DAYS, draw.randint(2, 6)), key=DAYS.index)
        limits = draw.choice(
            [
                (),
                (),
                (),
                ("max_tests",),
                ("breath_holding", "spare_four", "max_tests"),
                ("flat_on_back", "breath_holding", "spare_four"),
                ("spine_bending",),
            ]
        )
        made.append(
            request(
                " ".join(days),
                draw.choice([20, 30, 40, 45, 60, 60, 75, 90]),
                kit=draw.choice(KITS),
                level=draw.choice(["novice", "intermediate", "advanced"]),
                age=draw.randint(18, 76),
                aims=draw.choice(AIMS),
                sore_joints=frozenset(draw.sample(joints, draw.choice([0, 0, 0, 1, 1, 2, 3]))),
                limits=frozenset(limits),
                # Every third can do all that body weight asks for; the others have not said so.
                abilities=frozenset(catalogue().abilities if number % 3 == 0 else ()),
                block_style=draw.choice(["moderate", "moderate", "light", "heavy"]),
            )
        )
        if "spare_four" in limits:
            made[-1] = dataclasses.replace(made[-1], rir_compound=4, rir_single_joint=4)
    return made
