"""Resting energy against published equations, worked by hand from the papers named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import resting
from assistant.calculate.composition import fat_free_mass

from .people import M1, M1_FAT_FREE_KG, W1, W1_FAT_FREE_KG, W2, W2_FAT_FREE_KG, W3, Person

ONE_KCAL = 1.0
MEASURED = ("dxa", "skinfold", "tape")


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


# Cunningham 1980, Am J Clin Nutr 33:2372; Cunningham 1991, Am J Clin Nutr 54:963.
@pytest.mark.parametrize(
    ("fat_free_mass_kg", "by_1980"),
    [(60, 1820.0), (70, 2040.0), (45, 1490.0), (54.6, 1701.2), (69.7, 2033.4)],
)
def test_cunningham_1980(fat_free_mass_kg: float, by_1980: float) -> None:
    assert resting.cunningham_1980(fat_free_mass_kg) == pytest.approx(by_1980, abs=ONE_KCAL)


@pytest.mark.parametrize(
    ("fat_free_mass_kg", "by_1991"),
    [(W1_FAT_FREE_KG, 1342.0), (W2_FAT_FREE_KG, 1549.4), (M1_FAT_FREE_KG, 1875.5)],
)
def test_cunningham_1991(fat_free_mass_kg: float, by_1991: float) -> None:
    assert resting.cunningham_1991(fat_free_mass_kg) == pytest.approx(by_1991, abs=ONE_KCAL)


# Henry 2005, Public Health Nutr 8(7A):1133, weight and height.
@pytest.mark.parametrize(("person", "expected"), [(W1, 1307.5), (W2, 1491.5), (M1, 1857.2)])
def test_henry(person: Person, expected: float) -> None:
    assert resting.henry(*person) == pytest.approx(expected, abs=ONE_KCAL)


# Henry 2005 in megajoules (from memory): per kg, per metre, constant; weight alone: per kg,
# constant. The paper rounds both unit systems on its own, so they witness each other.
HENRY_MEGAJOULES = [
    ("female", 18, 0.0433, 2.57, -1.180, 0.0546, 2.33),
    ("female", 29.99, 0.0433, 2.57, -1.180, 0.0546, 2.33),
    ("female", 30, 0.0342, 2.10, -0.0486, 0.0407, 2.90),
    ("female", 59.99, 0.0342, 2.10, -0.0486, 0.0407, 2.90),
    ("female", 60, 0.0356, 1.76, 0.0448, 0.0424, 2.38),
    ("male", 29.99, 0.0600, 1.31, 0.473, 0.0669, 2.28),
    ("male", 30, 0.0476, 2.26, -0.574, 0.0592, 2.48),
    ("male", 59.99, 0.0476, 2.26, -0.574, 0.0592, 2.48),
    ("male", 60, 0.0478, 2.26, -1.070, 0.0563, 2.15),
]


@pytest.mark.parametrize(
    ("sex", "age", "per_kg", "per_metre", "constant", "alone_per_kg", "alone_constant"),
    HENRY_MEGAJOULES,
)
def test_henry_agrees_with_its_megajoule_form(
    sex: str,
    age: float,
    per_kg: float,
    per_metre: float,
    constant: float,
    alone_per_kg: float,
    alone_constant: float,
) -> None:
    kcal_per_mj = 1000 / 4.184
    here = resting.henry(sex, age, 150, 60)
    one_kg = resting.henry(sex, age, 150, 61) - here
    one_metre = resting.henry(sex, age, 250, 60) - here
    assert one_kg == pytest.approx(per_kg * kcal_per_mj, abs=0.06)
    assert one_metre == pytest.approx(per_metre * kcal_per_mj, abs=1.0)
    rest = here - 60 * one_kg - 1.5 * one_metre
    assert rest == pytest.approx(constant * kcal_per_mj, abs=0.3)
    alone = resting.henry_weight_only(sex, age, 60)
    alone_one_kg = resting.henry_weight_only(sex, age, 61) - alone
    assert alone_one_kg == pytest.approx(alone_per_kg * kcal_per_mj, abs=0.06)
    assert alone - 60 * alone_one_kg == pytest.approx(alone_constant * kcal_per_mj, abs=1.2)


# ten Haaf and Weijs 2014, PLoS ONE 9:e108460.
@pytest.mark.parametrize(("person", "expected"), [(W1, 1471.3), (W2, 1668.8), (M1, 2029.3)])
def test_ten_haaf(person: Person, expected: float) -> None:
    assert resting.ten_haaf(*person) == pytest.approx(expected, abs=0.06)


def test_ten_haaf_fat_free_form_and_kilojoules() -> None:
    assert resting.ten_haaf_fat_free_mass(W1_FAT_FREE_KG) == pytest.approx(1508.9, abs=ONE_KCAL)
    assert resting.ten_haaf_fat_free_mass(M1_FAT_FREE_KG) == pytest.approx(2071.4, abs=ONE_KCAL)
    small_man = resting.ten_haaf("male", 35, 162, 60)
    assert small_man == pytest.approx(1604, abs=ONE_KCAL)
    assert small_man * 4.184 == pytest.approx(6711, abs=4.2)


def test_a_height_in_metres_is_refused_with_a_hint() -> None:
    with pytest.raises(ValueError, match=r"height_cm: 1\.65 .* 100 to 250 in centimetres"):
        resting.ten_haaf("female", 30, 1.65, 60)


# Spread of the seven equations for one woman: 1278 (Henry, weight only) to 1509 (ten Haaf).
def test_spread_between_equations() -> None:
    spread = resting.resting_spread_trained(*W1, W1_FAT_FREE_KG)
    assert spread.low == pytest.approx(1278, abs=ONE_KCAL)
    assert spread.high == pytest.approx(1509, abs=ONE_KCAL)
    assert spread.value == pytest.approx(1342, abs=ONE_KCAL)


def _estimate(method: str | None, sessions: float) -> resting.RestingEstimate:
    reading = None if method is None else resting.BodyFatReading(25.0, method, 4.0)
    return resting.resting_estimate(
        *W1,
        body_fat=reading,
        sessions_per_week=sessions,
        individual_sd_percent=9.0,
        sessions_needed=3.0,
        measured_methods=MEASURED,
    )


@pytest.mark.parametrize(
    ("method", "sessions", "chosen"),
    [
        ("dxa", 3, "cunningham_1991"),
        ("tape", 4, "cunningham_1991"),
        ("dxa", 2, "mifflin_1990"),
        ("guess", 5, "mifflin_1990"),
        ("scale", 5, "mifflin_1990"),
        (None, 5, "mifflin_1990"),
    ],
)
def test_fat_free_mass_leads_only_when_measured_and_trained(
    method: str | None, sessions: float, chosen: str
) -> None:
    assert _estimate(method, sessions).method == chosen


def test_the_range_covers_both_the_equations_and_the_person() -> None:
    plain = _estimate(None, 0)
    assert plain.estimate.low == pytest.approx(1320.25 * 0.91)
    assert plain.estimate.high == pytest.approx(1320.25 * 1.09)
    assert plain.between_equations.low >= plain.estimate.low
    measured = _estimate("dxa", 4)
    # 9 % of 1342 and 2.4 kg x 21.6 kcal, joined: 131.4 kcal; the highest equation lies beyond.
    assert measured.estimate.low == pytest.approx(1342 - 131.4, abs=ONE_KCAL)
    assert measured.estimate.high == pytest.approx(1508.9, abs=ONE_KCAL)


# Error of fat-free mass carried into the 1980 form: 2.4 kg x 22 kcal/kg.
def test_body_fat_error_reaches_resting_energy() -> None:
    mass = fat_free_mass(60, 25, 4)
    assert mass.half_width == pytest.approx(2.4, abs=0.1)
    reach = resting.cunningham_1980_range(mass.value, mass.half_width, 0.0)
    assert reach.half_width == pytest.approx(52.8, abs=0.1)


@given(
    st.sampled_from(["female", "male"]),
    st.floats(14, 100),
    st.floats(120, 220),
    st.floats(30, 249),
)
def test_every_equation_rises_with_weight(
    sex: str, age: float, height: float, weight: float
) -> None:
    for equation in (resting.mifflin_st_jeor, resting.henry, resting.ten_haaf):
        assert equation(sex, age, height, weight + 1) > equation(sex, age, height, weight)
