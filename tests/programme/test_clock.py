"""Set and session times against worked figures.

Source of the figures: hand arithmetic from the time model (3.5 s a repetition, both sides and 15 s
to change, rest, set-up once): common practice, no published source.
"""

from __future__ import annotations

import pytest

from assistant.programme.clock import ramp_sets, set_seconds, warm_up_seconds
from programme.documents import catalogue


@pytest.mark.parametrize(
    ("exercise", "sets", "repetitions", "seconds"),
    [
        ("split_squat_dumbbell", 3, 10, 555.0),
        ("thrust_barbell", 4, 10, 740.0),
        ("lateral_raise_dumbbell", 3, 15, 352.5),
        ("squat_back_barbell", 3, 8, 744.0),
        ("leg_curl_seated", 3, 12, 391.0),
    ],
)
def test_worked_exercise_times(exercise: str, sets: int, repetitions: int, seconds: float) -> None:
    row = catalogue().exercises[exercise]
    total = sets * set_seconds(row, repetitions, catalogue().settings) + row.setup_s
    assert total == pytest.approx(seconds)


# The hand-made week with its minutes as worked out beside it; two ramp sets for a loaded bar.
HAND_MADE = {
    "mon": (
        "full",
        55.2,
        """
        thrust_barbell 3 8, pulldown_wide 3 10, split_squat_dumbbell 3 10,
        lateral_raise_cable 3 12, press_incline_dumbbell 3 10, leg_curl_seated 3 12
        """,
    ),
    "tue": (
        "short",
        19.0,
        "abduction_machine 3 15, straight_arm_pulldown 3 12, lateral_raise_machine 2 15",
    ),
    "thu": (
        "full",
        51.7,
        """
        rdl_barbell 3 8, pulldown_neutral 3 10, leg_press 3 12,
        rear_delt_fly_machine 3 15, curl_dumbbell 2 12, calf_raise_standing 3 12
        """,
    ),
    "fri": (
        "short",
        21.7,
        "lateral_raise_dumbbell 3 15, pulldown_single_arm 2 12, abduction_side_lying 2 20",
    ),
    "sat": (
        "full",
        51.2,
        """
        thrust_machine 3 12, row_seated_neutral 3 10, lunge_walking_dumbbell 2 12,
        press_chest_machine 3 10, extension_overhead_cable 2 12, lateral_raise_machine 2 12,
        plank_side 2 30, dead_bug 2 10
        """,
    ),
}


@pytest.mark.parametrize("day", HAND_MADE)
def test_minutes_of_the_hand_made_week(day: str) -> None:
    settings = catalogue().settings
    kind, minutes, text = HAND_MADE[day]
    total = float(warm_up_seconds(kind, 60 if kind == "full" else 25, settings))
    for line in text.split(","):
        name, sets, amount = line.split()
        row = catalogue().exercises[name]
        total += int(sets) * set_seconds(row, int(amount), settings) + row.setup_s
        pattern = catalogue().patterns[row.pattern]
        total += ramp_sets(row, pattern.kind, "moderate", settings) * settings.clock.ramp_set_s
    assert total / 60 == pytest.approx(minutes, abs=0.06)
