"""Total energy against the national equations and worked examples."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import energy
from assistant.calculate.units import kcal_from_kj

from .people import M1, W1, W2, W3, Person

ONE_KCAL = 1.0


# National Academies 2023, Dietary Reference Intakes for Energy, 10.17226/26818 (second-hand).
@pytest.mark.parametrize(
    ("person", "by_category"),
    [
        (W1, (2021.0, 2182.9, 2319.4, 2551.7)),
        (W2, (2208.8, 2379.3, 2517.6, 2764.7)),
        (W3, (2027.8, 2190.4, 2329.7, 2551.9)),
        (M1, (2776.0, 2997.3, 3179.8, 3555.7)),
    ],
)
def test_requirement_by_category(person: Person, by_category: tuple[float, ...]) -> None:
    got = [energy.eer_2023(*person, category) for category in energy.ACTIVITY_CATEGORIES]
    assert got == pytest.approx(by_category, abs=ONE_KCAL)


def test_crossing_lines_fall_back_to_the_lower_category() -> None:
    small_man = energy.eer_2023("male", 30, 150, 45, "very_active")
    active = energy.eer_2023("male", 30, 150, 45, "active")
    assert small_man == active == pytest.approx(2373.9, abs=ONE_KCAL)
    # The line passed over: -517.88 - 10.83 x 30 + 15.61 x 150 + 19.11 x 45 = 2358.7.
    assert small_man > 2359


@given(st.floats(14, 100), st.floats(120, 220), st.floats(30, 250))
def test_men_fall_back_exactly_where_the_lines_cross(
    age: float, height: float, weight: float
) -> None:
    margin = 9.09 * height + 3.20 * weight - 1522.7
    if abs(margin) > 0.001:
        active, very_active = (
            energy.eer_2023("male", age, height, weight, category)
            for category in ("active", "very_active")
        )
        assert (active == very_active) == (margin < 0)


@given(
    st.sampled_from(["female", "male"]),
    st.floats(14, 100),
    st.floats(120, 220),
    st.floats(30, 249),
)
def test_more_activity_never_costs_less_and_more_weight_always_more(
    sex: str, age: float, height: float, weight: float
) -> None:
    by_category = [
        energy.eer_2023(sex, age, height, weight, category)
        for category in energy.ACTIVITY_CATEGORIES
    ]
    assert by_category == sorted(by_category)
    heavier = [
        energy.eer_2023(sex, age, height, weight + 1, category)
        for category in energy.ACTIVITY_CATEGORIES
    ]
    assert all(more > less for more, less in zip(heavier, by_category, strict=True))


def test_maintenance_carries_the_error_of_the_fit() -> None:
    # Root mean square error of the women's fit, 246 kcal/d: from memory.
    estimate = energy.maintenance_eer(*W1, "low_active", 246)
    assert (estimate.low, estimate.high) == pytest.approx((1936.9, 2428.9), abs=ONE_KCAL)


# Printed example, FAO/WHO/UNU 2004, section 5.4.1: woman of 55 kg, 20 to 30 years: 1302 kcal
# resting (14.818 W + 486.6) times 1.85 is 10.08 MJ or 2410 kcal.
def test_printed_example_of_a_factorial_requirement() -> None:
    resting = 14.818 * 55 + 486.6
    assert resting == pytest.approx(1302, abs=ONE_KCAL)
    assert kcal_from_kj(10_080) == pytest.approx(2410, abs=ONE_KCAL)
    assert resting * 1.85 == pytest.approx(kcal_from_kj(10_080), abs=3)
    # Our equations for that woman (taken 160 cm tall, 25 years) have to land near the group.
    active = energy.eer_2023("female", 25, 160, 55, "very_active")
    assert active == pytest.approx(2410, abs=246)


# Printed table of the older national equations (2002/2005), woman of 30 years, 1.65 m, 50.4 kg:
# 1816, 2016, 2267, 2567 kcal/d. The newer ones have to agree within their own stated error.
def test_newer_equations_stay_near_the_older_printed_table() -> None:
    printed = (1816, 2016, 2267, 2567)
    for category, older in zip(energy.ACTIVITY_CATEGORIES, printed, strict=True):
        newer = energy.eer_2023("female", 30, 165, 50.4, category)
        assert newer == pytest.approx(older, abs=246)


# Herrmann 2024, J Sport Health Sci 13:6: 1 MET = 1 kcal per kg and hour, code 02054 3.5 MET.
def test_session_energy() -> None:
    gross = energy.session_energy_gross_kcal(60, 60, 3.5)
    assert gross == pytest.approx(210)
    # The oxygen variant, MET x 3.5 x W / 200 x minutes, runs 5 % higher.
    assert gross * 1.05 == pytest.approx(3.5 * 3.5 * 60 / 200 * 60)
    assert energy.session_energy_net(60, 7, 60, 3.5) == pytest.approx(150)


@pytest.mark.parametrize(("met", "expected"), [(3.5, 85.7), (5.0, 137.1), (6.0, 171.4)])
def test_net_training_energy_over_the_week(met: float, expected: float) -> None:
    assert energy.session_energy_net(60, 4, 60, met) == pytest.approx(expected, abs=0.05)


def test_four_lifting_hours_move_a_woman_at_most_one_category() -> None:
    inactive, low_active = (
        energy.eer_2023(*W1, category) for category in ("inactive", "low_active")
    )
    assert low_active - inactive == pytest.approx(161.9, abs=ONE_KCAL)
    assert energy.session_energy_net(60, 4, 60, 5.0) < low_active - inactive


# Rates: Iraki 2019 (gain), Helms 2014 (loss), in percent of body weight a week.
@pytest.mark.parametrize(
    ("percent", "kg"), [(0.25, 0.15), (0.5, 0.30), (-0.5, -0.30), (-1.0, -0.60)]
)
def test_weekly_rates(percent: float, kg: float) -> None:
    assert energy.weight_change_kg_per_week(60, percent) == pytest.approx(kg)


# Slater 2019, Front Nutr 6:131: 1500 to 2000 kJ (second-hand).
def test_surplus_quoted_in_kilojoules() -> None:
    assert kcal_from_kj(1500) == pytest.approx(358.5, abs=0.05)
    assert kcal_from_kj(2000) == pytest.approx(478.0, abs=0.05)


# The 100 to 250 kcal clamp is common practice, no source.
@pytest.mark.parametrize(("maintenance", "kcal"), [(1900, 142.5), (2100, 157.5), (3400, 250.0)])
def test_surplus_is_held_between_its_clamps(maintenance: float, kcal: float) -> None:
    got = energy.surplus(maintenance, 7.5, 100, 250)
    assert (got.value, got.low, got.high) == pytest.approx((kcal, 100, 250))


def test_deficit_takes_the_smallest_of_share_cap_and_room() -> None:
    assert energy.deficit(2000, 20, 500, 1200) == pytest.approx(400)
    assert energy.deficit(3000, 20, 500, 1200) == pytest.approx(500)
    assert energy.deficit(1500, 20, 500, 1300) == pytest.approx(200)
    assert energy.deficit(1400, 20, 500, 1450) == 0.0
    assert energy.deficit_as_surplus(2000, 20, 500, 1200) == pytest.approx(-400)


@given(st.floats(800, 5000), st.floats(0, 40), st.floats(0, 1000), st.floats(0, 4000))
def test_a_deficit_never_goes_under_the_floor(
    maintenance: float, percent: float, cap: float, floor: float
) -> None:
    size = energy.deficit(maintenance, percent, cap, floor)
    assert 0 <= size <= cap
    assert maintenance - size >= min(floor, maintenance) - 1e-9


def test_unknown_category_is_named() -> None:
    with pytest.raises(ValueError, match="category: 'sporty' is not allowed; give one of inactive"):
        energy.eer_2023(*W1, "sporty")


def test_a_week_of_busy_and_quieter_days_is_their_mean() -> None:
    """By hand from the same published coefficients: three days of seven on the feet, four with a walk."""
    three = energy.maintenance_eer_of_a_week(*W1, "active", 3, "low_active", 246)
    busy, quiet = (energy.maintenance_eer(*W1, each, 246) for each in ("active", "low_active"))
    assert three.value == pytest.approx((3 * busy.value + 4 * quiet.value) / 7)
    assert quiet.value < three.value < busy.value
    assert three.half_width == pytest.approx(246)
    all_week = energy.maintenance_eer_of_a_week(*W1, "active", 7, "low_active", 246)
    assert all_week.value == pytest.approx(busy.value)
    with pytest.raises(ValueError, match="days_per_week must be 0 to 7, is 8"):
        energy.maintenance_eer_of_a_week(*W1, "active", 8, "low_active", 246)
