"""Each line of the screen: just under, at, just over, in metric and in imperial input.

The lines are those of `vignettes.yaml` and of the sources named in `rules/parameters/screen.yaml`;
they are written out here again so that a changed parameter fails this file.
"""

import math
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from screening import case_answers, checked, knowledge, screen, screen_person

from assistant.calculate.units import cm_from_inches, kg_from_lb

ITEMS = ("eats_past_stopping", "close_people_disagree", "mind_taken_up", "rules_spoil_mood")
BODY = ("feels_too_small_others_disagree", "gives_up_life_for_physique")
TRAINING = ("trains_when_hurt_or_ill", "distress_at_missed_session")

# flag, base, what else holds, key, values that raise the flag, values that do not.
LINES: list[tuple[str, str, dict[str, Any], str, list[float], list[float]]] = [
    ("bp_stop", "man", {}, "bp_systolic", [180, 181], [179.9, 160]),
    ("bp_stop", "man", {}, "bp_diastolic", [110, 111], [109.9, 100]),
    ("bp_high", "man", {}, "bp_systolic", [160, 161, 179], [159, 180]),
    ("bp_high", "man", {}, "bp_diastolic", [100, 101, 109], [99, 110]),
    ("bp_raised", "woman", {}, "bp_systolic", [140, 141, 159], [139, 160]),
    ("bp_raised", "woman", {}, "bp_diastolic", [90, 91, 99], [89, 100]),
    ("disease_vigorous_uncleared", "man", {"disease": ["heart"]}, "cleared_months_ago", [12.1, 13], [12, 11]),
    ("bmi_under_13", "woman", {}, "bmi", [12.9, 12.999], [13, 13.001]),
    ("bmi_under_16", "woman", {}, "bmi", [13, 15.999], [12.999, 16, 16.001]),
    ("bmi_under_17_5", "man", {}, "bmi", [16, 17.499], [15.999, 17.5, 17.501]),
    ("bmi_under_18_5", "man", {}, "bmi", [17.5, 18.499], [17.499, 18.5, 18.501]),
    ("goal_bmi_under_18_5", "woman", {}, "goal_bmi", [18.4, 18.499], [18.5, 18.501]),
    ("weight_suppression", "woman", {"highest_adult_bmi": 30}, "bmi", [24.999], [25, 25.001]),
    ("weight_suppression", "woman", {"bmi": 22.5}, "highest_adult_bmi", [25, 25.01], [24.99]),
    ("weight_loss_unplanned", "man", {}, "unplanned_loss_percent_6_months", [5.01], [5, 4.99]),
    ("weight_loss_fast", "man", {"weeks_of_trend": 3}, "weight_change_percent_per_week", [-1.01], [-1, -0.99]),
    ("weight_loss_fast", "man", {"weight_change_percent_per_week": -1.2}, "weeks_of_trend", [3, 4], [2]),
    ("weight_gain_fast", "man", {"weeks_of_trend": 4}, "weight_change_percent_per_week", [0.71], [0.7, 0.69]),
    ("weight_gain_fast", "man", {"weight_change_percent_per_week": 0.8}, "weeks_of_trend", [4, 5], [3]),
    ("weight_gain_above_plan", "man", {"weeks_of_trend": 4}, "weight_change_percent_per_week", [0.51, 0.7], [0.5, 0.49, 0.71]),
    ("no_period_3_months", "woman", {}, "months_without_period", [3, 4], [2, 2.9]),
    ("cycle_change", "woman", {}, "months_without_period", [2, 2.9], [1, 1.9, 3]),
    ("cycle_hidden", "woman", {"hormonal_contraception": True}, "months_without_period", [3, 5], [2]),
    ("no_period_known_pcos", "woman", {"pcos_in_care": True}, "months_without_period", [3, 5], [2]),
    ("energy_availability_low", "man", {}, "energy_availability", [29, 29.99], [30, 30.01]),
    ("energy_availability_reduced", "woman", {"goal": "lose_fat"}, "energy_availability", [30, 33.99], [29.99, 34, 34.01]),
    ("low_energy_signs", "man", {}, "low_energy_signs", [2, 3], [1]),
    ("bone_stress_injury", "woman", {}, "bone_stress_injuries_2_years", [2, 3], [1]),
    ("bone_stress_one", "woman", {}, "bone_stress_injuries_2_years", [1], [0, 2]),
    ("under_18", "man", {}, "age", [17, 17.9], [18, 18.1]),
    ("under_16", "man", {}, "age", [15, 15.9], [16, 17]),
    ("minor_low_weight", "man", {"age": 16}, "bmi", [18.24, 17], [18.25, 19]),
    ("minor_low_weight", "woman", {"age": 17}, "bmi", [18.49, 18.25], [18.5, 19]),
    ("minor_low_weight", "woman", {"bmi": 18.3}, "age", [17], [16, 16.9, 18]),
    ("bmi_under_16", "woman", {"age": 16}, "bmi", [13, 15.9], [16, 12.9]),
    ("bmi_under_13", "woman", {"age": 16}, "bmi", [12.9], [13]),
    ("older_adult", "woman", {}, "age", [65, 66], [64, 64.9]),
    ("postpartum_under_6_weeks", "woman", {}, "weeks_since_birth", [0, 5.9], [6, 7]),
    ("postpartum_6_to_12_weeks", "woman", {}, "weeks_since_birth", [6, 11.9], [5.9, 12, 13]),
    ("surgery_recent", "man", {}, "surgery_weeks_ago", [0, 11.9], [12, 13]),
    ("bp_not_measured", "man", {"bp_systolic": "unknown"}, "age", [40, 41], [39, 39.9]),
    ("training_lost_to_bone_injury", "man", {}, "training_months_lost_to_bone", [6, 6.1], [5, 5.99]),
    ("fall_risk", "man", {"age": 70}, "falls_last_year", [2, 3], [1]),
]  # fmt: skip
COUNTED = [
    ("eating_screen_one", ITEMS, 1, 1),
    ("eating_screen_two_plus", ITEMS, 2, 4),
    ("muscle_size_sign", BODY, 1, 1),
    ("muscle_size_distress", BODY, 2, 2),
    ("exercise_compulsion_sign", TRAINING, 1, 1),
    ("exercise_compulsion", TRAINING, 2, 2),
]
# Lines for what a record says: tests/measure/test_record_to_screen.py stands on both sides of each.
RECORD_LINES = {
    "screen.equation_weight_least",
    "screen.equation_weight_most",
    "screen.sudden_rise_kg",
    "screen.thin_loss_emergency_kg",
    "screen.thin_loss_kg",
    "screen.thin_loss_percent_per_week",
}
BMI_LINES = {
    13.0: "bmi_under_13",
    16.0: "bmi_under_16",
    17.5: "bmi_under_17_5",
    18.5: "bmi_under_18_5",
}


@pytest.mark.parametrize(
    ("flag", "base", "around", "key", "raising", "silent"),
    LINES,
    ids=[f"{line[0]}-{line[3]}" for line in LINES],
)
def test_lines_just_under_at_and_just_over(
    flag: str,
    base: str,
    around: dict[str, Any],
    key: str,
    raising: list[float],
    silent: list[float],
) -> None:
    for value in raising:
        assert flag in screen_person(base, {**around, key: value}).flags, value
    for value in silent:
        assert flag not in screen_person(base, {**around, key: value}).flags, value


@pytest.mark.parametrize(("flag", "items", "fewest", "most"), COUNTED, ids=[c[0] for c in COUNTED])
def test_counted_answers(flag: str, items: tuple[str, ...], fewest: int, most: int) -> None:
    for yes in range(len(items) + 1):
        changes = {item: number < yes for number, item in enumerate(items)}
        found = screen_person("woman", changes).flags
        assert (flag in found) == (fewest <= yes <= most), yes


def test_every_line_of_the_screen_stands_in_this_file() -> None:
    values = {
        p.values[-1].value
        for name, p in knowledge().parameters.items()
        if name.startswith("screen.") and name not in RECORD_LINES
    }
    here = {abs(float(v)) for line in LINES for v in (*line[4], *line[5])}
    counts = {float(n) for _, _, fewest, most in COUNTED for n in (fewest, most)}
    shares = {10.0}  # a share of the highest adult weight, tested as 22.5 against 25
    assert {abs(value) for value in values} <= here | counts | shares


def body(weight_kg: float, height_cm: float) -> frozenset[str]:
    raw = case_answers("woman", {"highest_adult_bmi": "none"})
    raw |= {"client.weight_kg": weight_kg, "client.height_cm": height_cm}
    return screen(checked(raw)).flags & set(BMI_LINES.values())


def expected_band(bmi: Fraction) -> set[str]:
    under = [flag for line, flag in BMI_LINES.items() if bmi < Fraction(line)]
    return set(under[:1])


@pytest.mark.parametrize("line", BMI_LINES)
@pytest.mark.parametrize("inches", [60, 65, 70])
def test_pounds_and_inches_stay_on_their_side_of_a_line(line: float, inches: int) -> None:
    """Exact arithmetic decides: one pound is 0.45359237 kg and one inch 2.54 cm by definition."""
    metres = Fraction(inches) * Fraction(254, 10000)
    at_line_lb = Fraction(line) * metres**2 / Fraction(45359237, 10**8)
    for tenths in (math.floor(at_line_lb * 10), math.ceil(at_line_lb * 10)):
        bmi = Fraction(tenths, 10) * Fraction(45359237, 10**8) / metres**2
        assert body(kg_from_lb(tenths / 10), cm_from_inches(inches)) == expected_band(bmi)


@pytest.mark.parametrize("line", BMI_LINES)
@pytest.mark.parametrize("height_cm", [150.0, 158.0, 162.5, 165.0, 178.0, 200.0])
def test_a_person_at_the_line_is_not_under_it(line: float, height_cm: float) -> None:
    weight_kg = line * (height_cm / 100.0) ** 2
    if weight_kg < 30:
        pytest.skip("no scale of a gym reads so low")
    assert BMI_LINES[line] not in body(weight_kg, height_cm)
    assert BMI_LINES[line] in body(weight_kg * (1 - 1e-6), height_cm)


@settings(max_examples=150, deadline=None)
@given(tenths_lb=st.integers(700, 1700), half_inches=st.integers(112, 150))
def test_conversion_never_moves_a_person_across_a_line(tenths_lb: int, half_inches: int) -> None:
    metres = Fraction(half_inches, 2) * Fraction(254, 10000)
    bmi = Fraction(tenths_lb, 10) * Fraction(45359237, 10**8) / metres**2
    assert body(kg_from_lb(tenths_lb / 10), cm_from_inches(half_inches / 2)) == expected_band(bmi)


def test_a_wish_in_weight_and_a_wish_in_index_are_read_alike() -> None:
    raw = case_answers("woman", {}) | {"client.goal_weight_kg": kg_from_lb(110)}
    assert "goal_bmi_under_18_5" in screen(checked(raw)).flags  # 18.33 at 165 cm
    raw["client.goal_weight_kg"] = kg_from_lb(112)
    assert "goal_bmi_under_18_5" not in screen(checked(raw)).flags  # 18.66 at 165 cm


def test_the_highest_weight_counts_in_kilograms_too() -> None:
    raw = case_answers("woman", {"highest_adult_bmi": "none"}) | {"client.weight_kg": 60}
    raw["screen.highest_adult_weight_kg"] = 66.6
    assert "weight_suppression" not in screen(checked(raw)).flags  # 9.9 per cent
    raw["screen.highest_adult_weight_kg"] = 66.7
    assert "weight_suppression" in screen(checked(raw)).flags  # 10.04 per cent
