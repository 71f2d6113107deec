"""Fractional sets against worked sums.

Half-credit counting of helper muscles fitted the dose-response best in Pelland et al. 2025
(doi 10.1007/s40279-025-02344-w). The credits of each exercise are judgement; the sums below were
worked out by hand from the table before this code was written.
"""

from __future__ import annotations

import pytest

from programme.checker import Entry, sets_by_day
from programme.test_clock import HAND_MADE

CHECK_CASE = {
    "squat_back_barbell": 3,
    "thrust_barbell": 3,
    "rdl_barbell": 4,
    "abduction_machine": 3,
    "pulldown_neutral": 4,
    "row_seated_neutral": 3,
    "lateral_raise_cable": 4,
}
CHECK_SUMS = {
    "glute_max": 11.5,
    "hamstrings": 4.75,
    "quads": 3.75,
    "adductors": 4.25,
    "spinal_erectors": 4.25,
    "glute_med_min": 3.0,
    "lats": 7.0,
    "mid_upper_back": 7.0,
    "biceps": 3.5,
    "rear_delts": 2.5,
    "side_delts": 4.0,
    "front_delts": 1.0,
    "forearms": 3.0,
}
HAND_MADE_SUMS = {
    "glute_max": 17.5,
    "lats": 14.0,
    "side_delts": 10.0,
    "mid_upper_back": 11.25,
    "quads": 9.5,
    "glute_med_min": 7.75,
    "hamstrings": 7.5,
    "biceps": 7.5,
    "adductors": 7.0,
    "rear_delts": 6.75,
    "chest": 6.0,
    "triceps": 5.75,
    "front_delts": 4.5,
    "calves": 3.75,
    "obliques": 2.5,
    "abs": 2.5,
    "spinal_erectors": 2.25,
}


def hand_made_week() -> list[Entry]:
    return [
        Entry(day, line.split()[0], int(line.split()[1]), "moderate")
        for day, (_, _, text) in HAND_MADE.items()
        for line in text.split(",")
    ]


@pytest.mark.parametrize(("muscle", "sets"), CHECK_SUMS.items())
def test_check_case(muscle: str, sets: float) -> None:
    week = [Entry("mon", name, count, "moderate") for name, count in CHECK_CASE.items()]
    assert sum(sets_by_day(week, muscle).values()) == pytest.approx(sets)


@pytest.mark.parametrize(("muscle", "sets"), HAND_MADE_SUMS.items())
def test_hand_made_week(muscle: str, sets: float) -> None:
    assert sum(sets_by_day(hand_made_week(), muscle).values()) == pytest.approx(sets)
