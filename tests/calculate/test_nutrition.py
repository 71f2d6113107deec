"""Food arithmetic and energy availability against published figures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import nutrition as food


# 0.7 to 1 g per pound: common practice, no source; 1 lb = 0.45359237 kg by definition.
def test_grams_per_pound_in_kilograms() -> None:
    assert food.g_per_kg_from_g_per_lb(0.7) == pytest.approx(1.543, abs=0.0005)
    assert food.g_per_kg_from_g_per_lb(1.0) == pytest.approx(2.205, abs=0.0005)


def test_protein_by_goal_weight_agrees_with_the_published_range() -> None:
    by_pound = food.protein_per_lb(58, 0.7, 1.0, 0.8)
    assert (by_pound.low, by_pound.high) == pytest.approx((90, 128), abs=0.6)
    # Morton 2018, Br J Sports Med 52:376: 1.6 to 2.2 g/kg.
    published = food.protein_per_kg(58, 1.6, 2.2, 1.8)
    assert by_pound.low == pytest.approx(published.low, rel=0.05)
    assert by_pound.high == pytest.approx(published.high, rel=0.05)


# Helms 2014, Int J Sport Nutr Exerc Metab 24:127: 2.3 to 3.1 g per kg fat-free mass.
def test_protein_in_a_deficit() -> None:
    grams = food.protein_per_kg(45, 2.3, 3.1, 2.7)
    assert (grams.low, grams.high) == pytest.approx((103.5, 139.5))


# General Atwater factors 4, 4, 9 kcal/g; fibre 14 g per 1,000 kcal (from memory).
@pytest.mark.parametrize(
    ("energy", "protein_per_kg", "fat_per_kg", "protein", "fat", "carbohydrate", "shares", "fibre"),
    [
        (2100, 1.8, 0.9, 108, 54, 295.5, (20.6, 23.1, 56.3), 29.4),
        (1550, 2.0, 0.8, 120, 48, 159.5, (31.0, 27.9, 41.2), 21.7),
    ],
)
def test_a_day_of_food(
    energy: float,
    protein_per_kg: float,
    fat_per_kg: float,
    protein: float,
    fat: float,
    carbohydrate: float,
    shares: tuple[float, float, float],
    fibre: float,
) -> None:
    got_protein = food.protein_per_kg(60, 1.6, 2.2, protein_per_kg).value
    got_fat = food.fat(energy, 60, 20, 0.6, fat_per_kg, 35).value
    got_carbohydrate = food.carbohydrate(energy, got_protein, got_fat)
    assert (got_protein, got_fat, got_carbohydrate) == pytest.approx((protein, fat, carbohydrate))
    by_energy = [
        100 * kcal / energy for kcal in (4 * got_protein, 9 * got_fat, 4 * got_carbohydrate)
    ]
    assert by_energy == pytest.approx(shares, abs=0.06)
    assert food.fibre(energy, 14) == pytest.approx(fibre)


def test_fat_keeps_to_the_greater_floor() -> None:
    # 20 % of 1,500 kcal is 33.3 g, 0.6 g/kg at 60 kg is 36 g.
    assert food.fat(1500, 60, 20, 0.6, 0.5, 35).value == pytest.approx(36)
    # 20 % of 3,000 kcal is 66.7 g.
    assert food.fat(3000, 60, 20, 0.6, 0.9, 35).value == pytest.approx(66.67, abs=0.01)
    # 35 % of 1,500 kcal is 58.3 g.
    assert food.fat(1500, 60, 20, 0.6, 1.2, 35).value == pytest.approx(58.33, abs=0.01)
    # Floor above ceiling: the floor wins.
    assert food.fat(1000, 100, 20, 0.6, 0.6, 35).value == pytest.approx(60)


def test_carbohydrate_never_goes_below_nothing_and_says_so() -> None:
    assert food.carbohydrate(1200, 200, 80) == 0.0
    assert food.energy_left_kcal_per_day(1200, 200, 80) == pytest.approx(-320)


def test_carbohydrate_carries_the_error_of_energy() -> None:
    grams = food.carbohydrate_range(2100, 200, 108, 54)
    assert (grams.value, grams.low, grams.high) == pytest.approx((295.5, 245.5, 345.5))


# Worked example as printed in Thomas 2016, J Acad Nutr Diet 116:501 (from memory): 39.6.
def test_energy_availability_example() -> None:
    assert food.energy_availability(2400, 500, 48).value == pytest.approx(39.6, abs=0.05)


def test_energy_availability_carries_three_errors() -> None:
    got = food.energy_availability(1550, 100, 45)
    assert got.value == pytest.approx(32.2, abs=0.05)
    assert got.half_width == pytest.approx(4.0, abs=0.06)
    stated = food.energy_availability_with_errors(1550, 100, 45, 10, 40, 2.4)
    assert stated.half_width == pytest.approx(got.half_width)
    assert food.energy_availability(1400, 150, 45).value == pytest.approx(27.8, abs=0.05)


# Lines of 30 and 45 kcal per kg fat-free mass: Loucks and Thuma 2003; Mountjoy 2023.
@pytest.mark.parametrize(
    ("fat_free_mass_kg", "exercise", "low", "replete"),
    [(45, 100, 1450, 2125), (54.6, 130, 1768, 2587)],
)
def test_intake_at_the_lines_of_energy_availability(
    fat_free_mass_kg: float, exercise: float, low: float, replete: float
) -> None:
    got = [food.intake_for_availability(line, exercise, fat_free_mass_kg) for line in (30, 45)]
    assert got == pytest.approx([low, replete])


@given(st.floats(500, 6000), st.floats(0, 2000), st.floats(20, 150))
def test_availability_and_intake_are_inverse(
    intake: float, exercise: float, fat_free_mass_kg: float
) -> None:
    availability = food.energy_availability(intake, exercise, fat_free_mass_kg).value
    back = food.intake_for_availability(availability, exercise, fat_free_mass_kg)
    assert back == pytest.approx(intake)
    more_exercise = food.energy_availability(intake, exercise + 50, fat_free_mass_kg).value
    assert more_exercise < availability


@given(st.floats(1000, 5000), st.floats(40, 250), st.floats(30, 150))
def test_the_macronutrients_add_up_to_the_energy(energy: float, protein: float, fat: float) -> None:
    left = food.energy_left_kcal_per_day(energy, protein, fat)
    total = 4 * protein + 9 * fat + 4 * food.carbohydrate(energy, protein, fat)
    assert total == pytest.approx(max(energy, energy - left))
