"""Measured maintenance against published energy densities and textbook statistics."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import energy, measured


@pytest.mark.parametrize(
    ("intake", "kg_per_week", "density", "expected"),
    [(2150, 0.10, 7000, 2050), (1700, -0.50, 7000, 2200), (2300, 0.20, 5800, 2134)],
)
def test_balance(intake: float, kg_per_week: float, density: float, expected: float) -> None:
    got = measured.measured_maintenance(intake, kg_per_week / 7, density)
    assert got == pytest.approx(expected, abs=1)


def test_blend_weighs_by_precision() -> None:
    both = measured.blend(2050, 250, 2250, 120)
    assert both.value == pytest.approx(2212.5, abs=0.05)
    assert both.half_width == pytest.approx(108.2, abs=0.05)


@pytest.mark.parametrize(("logged", "days", "expected"), [(24, 28, 40.5), (10, 14, 88.7)])
def test_missing_days(logged: float, days: float, expected: float) -> None:
    got = measured.intake_standard_error(2100, logged, days, 0.25)
    assert got == pytest.approx(expected, abs=0.05)
    assert measured.intake_standard_error(2100, days, days, 0.25) == 0.0


# Forbes 1987 with Hall 2008's densities.
@pytest.mark.parametrize(
    ("fat_mass", "density"),
    [(10, 5554), (12, 5901), (15, 6319), (20, 6832), (30, 7478), (40, 7867)],
)
def test_energy_of_a_kilogram_lost(fat_mass: float, density: float) -> None:
    assert measured.energy_density_of_loss(fat_mass) == pytest.approx(density, abs=1)


# Hall 2008, Int J Obes 32:573: the rule of 7,700 kcal/kg fits above 30 kg of fat.
def test_the_fixed_rule_fits_only_with_much_fat() -> None:
    assert measured.energy_density_of_loss(30) == pytest.approx(7700, rel=0.03)
    assert measured.energy_density_of_loss(12) < 0.8 * 7700


# Hall 2008 (39.5 MJ/kg fat, 7.6 MJ/kg lean) in kcal.
def test_the_densities_are_the_published_megajoules() -> None:
    assert pytest.approx(39_500 / 4.184, abs=1) == measured.FAT_KCAL_PER_KG
    assert pytest.approx(7_600 / 4.184, abs=1) == measured.LEAN_KCAL_PER_KG


@pytest.mark.parametrize(("share", "density"), [(0.3, 7348), (0.5, 5833), (0.7, 4318)])
def test_energy_of_a_kilogram_gained(share: float, density: float) -> None:
    assert measured.energy_density_of_gain(share) == pytest.approx(density, abs=1)


def test_three_errors_join() -> None:
    assert measured.maintenance_standard_error(30, 0.01, 0.01, 7000, 4000) == pytest.approx(
        (30**2 + 70**2 + 40**2) ** 0.5
    )


# Check P1 by definition: 0.25 and 0.5 % gained, 0.5 and 1 % lost a week of 60 kg.
@pytest.mark.parametrize(
    ("percent", "kg"), [(0.25, 0.15), (0.5, 0.30), (-0.5, -0.30), (-1.0, -0.60)]
)
def test_pace_of_sixty_kilograms(percent: float, kg: float) -> None:
    assert energy.weight_change_kg_per_week(60, percent) == pytest.approx(kg)


# Garthe 2013, Eur J Sport Sci 13:295, from its means: 3,585 against 2,964 kcal a day; 2.77 against
# 1.13 kg gained, 3.9 against 1.5 % (so 71 and 75 kg at the start).
def test_a_larger_surplus_in_a_trial() -> None:
    assert 3585 - 2964 == 621
    for gained, percent in ((2.77, 3.9), (1.13, 1.5)):
        start = gained / percent * 100
        assert 70 < start < 77
        assert energy.weight_change_kg_per_week(start, percent) == pytest.approx(gained)
    # 621 kcal for twelve weeks at the most are more than the difference could hold as fat.
    assert (2.77 - 1.13) * measured.FAT_KCAL_PER_KG < 621 * 7 * 12


# Garthe 2011, Int J Sport Nutr Exerc Metab 21:97: 0.7 and 1.0 % a week came to 0.47 and 0.78 kg.
@pytest.mark.parametrize(("percent", "kg"), [(0.7, 0.47), (1.0, 0.78)])
def test_pace_of_loss_in_a_trial(percent: float, kg: float) -> None:
    start = kg / percent * 100
    assert 65 < start < 80
    assert energy.weight_change_kg_per_week(start, -percent) == pytest.approx(-kg)


# The normal distribution of the standard library is the reference.
@given(st.floats(-1, 1), st.floats(0.01, 1), st.floats(-2, 2))
def test_chance_beyond_a_line_agrees_with_the_reference(
    value: float, error: float, line: float
) -> None:
    normal = statistics.NormalDist(value, error)
    half = normal.inv_cdf(0.95) - value
    above = measured.chance_above(value, value - half, value + half, line)
    below = measured.chance_below(value, value - half, value + half, line)
    assert above == pytest.approx(100 * (1 - normal.cdf(line)), abs=1e-6)
    assert above + below == pytest.approx(100)


# By hand: the equation's 300 and a tenth of 2,000 make 360.6; weighed against 100.
def test_log_and_equation_are_weighed_in_the_units_of_the_log() -> None:
    half = 100 * measured.NINETY
    both = measured.maintenance_from_log(2000, 300, 10, 2200, 2200 - half, 2200 + half)
    assert both.value == pytest.approx((2000 / 130000 + 2200 / 10000) / (1 / 130000 + 1 / 10000))
    assert both.half_width == pytest.approx((1 / 130000 + 1 / 10000) ** -0.5)
    ninety = measured.maintenance_from_log_ninety(2000, 300, 10, 2200, 2200 - half, 2200 + half)
    assert ninety.half_width == pytest.approx(both.half_width * 1.6449, rel=1e-4)


@pytest.mark.parametrize(
    ("now", "wanted", "step"),
    [(2200, 2350, 150), (2200, 2210, 100), (2200, 2900, 200), (2500, 2350, 150)],
)
def test_a_step_is_held_between_its_ends(now: float, wanted: float, step: float) -> None:
    assert measured.step_towards(now, wanted, 100, 200) == step


def test_more_days_logged_than_there_are_is_refused() -> None:
    with pytest.raises(ValueError, match=r"days_logged: 15 .* give 1 to 14"):
        measured.intake_standard_error(2000, 15, 14, 0.25)
