"""Rest, repetitions and weekly totals against published guidance; the source stands beside each.

Estimated maxima and percent tables are checked in `tests/calculate/test_strength.py`.
"""

from __future__ import annotations

import pytest

from programme.checker import credit, entries, pattern_rows, rows
from programme.documents import setting
from programme.weeks import four_day_week, harrow_lane_week, two_evenings_week

# The list of the public guidance: legs, hips, back, abdomen, chest, shoulders and arms.
MAJORS = {
    "legs": ("quads", "hamstrings"),
    "hips": ("glute_max", "glute_med_min"),
    "back": ("lats", "mid_upper_back"),
    "abdomen": ("abs", "obliques"),
    "chest": ("chest",),
    "shoulders": ("front_delts", "side_delts", "rear_delts"),
    "arms": ("biceps", "triceps"),
}


@pytest.mark.parametrize("solved", [two_evenings_week, four_day_week, harrow_lane_week])
@pytest.mark.parametrize("group", MAJORS)
def test_all_major_muscle_groups_on_two_days(group: str, solved: object) -> None:
    # WHO 2020 (Bull et al., Br J Sports Med 54:1451, from memory): muscle-strengthening work of all
    # major muscle groups on two or more days a week. Half credit is work, a quarter is not.
    days = {
        entry.day
        for entry in entries(solved())  # type: ignore[operator]
        if max(credit(entry.exercise, muscle) for muscle in MAJORS[group]) >= 0.5
    }
    assert len(days) >= 2, days


@pytest.mark.parametrize("solved", [two_evenings_week, four_day_week, harrow_lane_week])
def test_exercises_sets_and_repetitions_of_the_public_guidance(solved: object) -> None:
    # Paluch et al. 2024 (Circulation 149:e217, read): 8 to 10 exercises of the major muscle groups,
    # 1 to 3 sets of 8 to 12 repetitions, two or more days a week: the week holds at least that.
    programme = solved()  # type: ignore[operator]
    assert len(programme.sessions) >= 2
    assert len({entry.exercise for entry in entries(programme)}) >= 8
    lines = [line for session in programme.sessions for line in session.lines]
    assert all(line.sets >= 1 for line in lines)
    middle = [
        line for line in lines if line.measure == "repetitions" and line.low <= 12 <= line.high
    ]
    assert len(middle) >= len(lines) / 2


def test_priorities_reach_ten_weekly_sets_where_four_days_allow_it() -> None:
    # Schoenfeld et al. 2017 (J Sports Sci 35:1073, read): more growth at 10 and more weekly sets
    # than under 5; Baz-Valle et al. 2022 (J Hum Kinet 81:199, read): 12 to 20 advised.
    for week in four_day_week().muscles:
        if week.priority:
            assert week.sets >= 10, week
            assert week.sets <= 20, week


def test_rest_between_sets() -> None:
    # Ratamess et al. 2009 (Med Sci Sports Exerc 41:687; this clause from memory): 1 to 2 minutes
    # for growth, up to 3 for big lifts under heavy load. One-sided work rests while the other side works.
    for row in rows().values():
        if row["unilateral"] or row["loadability"] < 2 or row["measure"] != "repetitions":
            continue
        kind = pattern_rows()[row["pattern"]]["kind"]
        most = 180 if "heavy" in row["rep_zones"] or row["axial_load"] == "high" else 150
        assert 45 <= row["rest_s"] <= most, row["id"]
        if kind == "compound":
            assert row["rest_s"] >= 60, row["id"]
        if row["axial_load"] == "high":
            assert row["rest_s"] >= 120, row["id"]


def test_repetition_zones_lie_where_growth_was_alike() -> None:
    # Lopez et al. 2021 (Med Sci Sports Exerc 53:1206, read): alike growth from heavy (up to 8RM)
    # over moderate (9 to 15RM) to light (above 15RM) loads near failure; 30 and more is a
    # different thing (from memory).
    zones = setting("zones", "repetitions")
    assert zones["heavy"][1] <= 8
    assert 8 <= zones["moderate"][0] <= zones["moderate"][1] <= 15
    assert zones["light"][1] > 15
    assert max(high for _, high in zones.values()) <= 30
