"""Resting energy against published equations, worked by hand from the papers named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import resting
from assistant.calculate.composition import fat_free_mass

from .people import M1, M1_FAT_FREE_KG, W1, W1_FAT_FREE_KG, W2, W2_FAT_FREE_KG, W3, Person

ONE_KCAL = 1.0


# Mifflin 1990, Am J Clin Nutr 51:241: rounded form.
@pytest.mark.parametrize(
    ("person", "expected"), [(W1, 1320.25), (W2, 1481.5), (W3, 1334.0), (M1, 1810.0)]
)
def test_mifflin(person: Person, expected: float) -> None:
    assert resting.mifflin_st_jeor(*person) == pytest.approx(expected, abs=0.01)


# Mifflin 1990, same paper, unrounded regression: 9.99 W + 6.25 H - 4.92 A + 166 male - 161.
@given(
    st.sampled_from(["female", "male"]),
    st.floats(19, 78),
    st.floats(140, 200),
    st.floats(45, 120),
)
def test_mifflin_agrees_with_the_unrounded_regression(
    sex: str, age: float, height: float, weight: float
) -> None:
    unrounded = 9.99 * weight + 6.25 * height - 4.92 * age + (166 if sex == "male" else 0) - 161
    # Largest rounding gap: 0.01 x 120 kg + 0.08 x 78 years.
    assert resting.mifflin_st_jeor(sex, age, height, weight) == pytest.approx(unrounded, abs=7.5)


@pytest.mark.parametrize(
    ("fat_free_mass_kg", "by_1991"),
    [(W1_FAT_FREE_KG, 1342.0), (W2_FAT_FREE_KG, 1549.4), (M1_FAT_FREE_KG, 1875.5)],
)
def test_cunningham_1991(fat_free_mass_kg: float, by_1991: float) -> None:
    assert resting.cunningham_1991(fat_free_mass_kg) == pytest.approx(by_1991, abs=ONE_KCAL)


def test_a_height_in_metres_is_refused_with_a_hint() -> None:
    with pytest.raises(ValueError, match=r"height_cm: 1\.65 .* 100 to 250 in centimetres"):
        resting.mifflin_st_jeor("female", 30, 1.65, 60)


# Error of fat-free mass carried over: 2.4 kg x 21.6 kcal/kg.
def test_body_fat_error_reaches_resting_energy() -> None:
    mass = fat_free_mass(60, 25, 4)
    assert mass.half_width == pytest.approx(2.4, abs=0.1)
    reach = resting.cunningham_1991_range(mass.value, mass.half_width, 0.0)
    assert reach.half_width == pytest.approx(51.84, abs=0.1)


@given(
    st.sampled_from(["female", "male"]),
    st.floats(14, 100),
    st.floats(120, 220),
    st.floats(30, 249),
)
def test_the_equation_rises_with_weight(sex: str, age: float, height: float, weight: float) -> None:
    heavier = resting.mifflin_st_jeor(sex, age, height, weight + 1)
    assert heavier > resting.mifflin_st_jeor(sex, age, height, weight)
