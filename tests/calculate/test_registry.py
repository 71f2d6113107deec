"""The catalogue of calculators keeps its contract and stands the whole range of people."""

import inspect
import math
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.calculate.calculator import Calculator, Kg, calculator
from assistant.calculate.energy import ACTIVITY_CATEGORIES
from assistant.calculate.estimate import Estimate, around, around_within
from assistant.calculate.registry import CALCULATORS

MARKS = {"read", "second_hand", "from_memory", "judgement"}

# Ranges a calculator has to stand, by input name; other inputs go by their unit.
BY_NAME: dict[str, st.SearchStrategy[object]] = {
    "sex": st.sampled_from(["female", "male"]),
    "category": st.sampled_from(ACTIVITY_CATEGORIES),
    "other_category": st.sampled_from(ACTIVITY_CATEGORIES),
    "days_per_week": st.floats(0, 7),
    "meals_per_day": st.integers(1, 8),
    "age_years": st.floats(14, 100),
    "height_cm": st.floats(120, 220),
    "weight_kg": st.floats(30, 250),
    "earlier_weight_kg": st.floats(30, 250),
    "base_weight_kg": st.floats(30, 250),
    "fat_free_mass_kg": st.floats(15, 150),
    "fat_free_mass_sd_kg": st.floats(0, 15),
    "fat_free_mass_error_kg": st.floats(0, 15),
    "waist_cm": st.floats(50, 200),
    "iliac_waist_cm": st.floats(50, 200),
    "navel_cm": st.floats(65, 200),
    "hip_cm": st.floats(60, 200),
    "neck_cm": st.floats(25, 60),
    "shoulder_cm": st.floats(70, 180),
    "girth_cm": st.floats(20, 200),
    "technical_error_cm": st.floats(0, 5),
    "bmi_kg_per_m2": st.floats(6, 174),
    "reference_bmi_kg_per_m2": st.floats(18, 30),
    "met": st.floats(1, 15),
    "reps": st.integers(1, 10),
    "rir": st.integers(0, 5),
    "lean_share": st.floats(0, 1),
    "offset_kcal_per_day": st.floats(-800, 800),
    "weight_slope_kg_per_day": st.floats(-0.2, 0.2),
    "low_clamp_kcal": st.floats(50, 150),
    "high_clamp_kcal": st.floats(150, 600),
    "low_g_per_kg": st.floats(0.1, 1.6),
    "default_g_per_kg": st.floats(1.6, 1.9),
    "high_g_per_kg": st.floats(1.9, 3.1),
    "low_g_per_lb": st.floats(0.3, 0.7),
    "default_g_per_lb": st.floats(0.7, 0.9),
    "high_g_per_lb": st.floats(0.9, 1.4),
    "measured_low_kcal": st.floats(800, 1800),
    "measured_kcal_per_day": st.floats(1800, 2400),
    "measured_high_kcal": st.floats(2400, 4000),
    "value": st.floats(-1, 1),
    "low": st.floats(-3, -1),
    "high": st.floats(1, 3),
    "start": st.dates(date(2026, 1, 1), date(2026, 12, 31)),
    "target_date": st.dates(date(2027, 1, 1), date(2028, 12, 31)),
    "cut_weeks": st.floats(6, 16),
    "from_low_kg": st.floats(40, 80),
    "from_high_kg": st.floats(80, 120),
    "later_low_kg": st.floats(40, 80),
    "later_high_kg": st.floats(80, 120),
    "cm_per_kg_error": st.floats(0, 0.5),
    "now_kg": st.floats(40, 80),
    "wanted_kg": st.floats(80, 120),
    "pace_kg_per_week": st.floats(0.05, 1),
    "minimum": st.integers(1, 2),
    "maximum": st.integers(2, 6),
}
BY_UNIT: dict[str, st.SearchStrategy[object]] = {
    "%": st.floats(0, 60),
    "%/wk": st.floats(-1.5, 1.0),
    "1": st.integers(1, 12),
    "cm": st.floats(20, 200),
    "cm/kg": st.floats(0.3, 1),
    "kg/wk": st.floats(-1, 1),
    "cm2": st.floats(10, 300),
    "date": st.dates(date(2020, 1, 1), date(2035, 1, 1)),
    "g/Mcal": st.floats(8, 20),
    "g/d": st.floats(20, 400),
    "g/kg": st.floats(0.1, 0.6),
    "g/kg/d": st.floats(0.3, 1.5),
    "kcal/d": st.floats(1, 6000),
    "kcal/kg": st.floats(2000, 9500),
    "kcal/kg/d": st.floats(20, 50),
    "kg": st.floats(1, 250),
    "kg/m2": st.floats(10, 60),
    "min": st.floats(10, 180),
    "mm": st.floats(10, 200),
    "{sessions}/wk": st.floats(0, 14),
    "{sets}": st.floats(1, 12),
    "{sets}/wk": st.floats(0, 40),
    "wk": st.floats(0, 60),
}


def test_a_name_given_twice_is_refused() -> None:
    with pytest.raises(ValueError, match=r"calculator `body\.bmi` is offered twice"):

        @calculator("body.bmi", "kg")
        def again(weight_kg: Kg) -> float:
            return weight_kg


def test_an_input_without_a_unit_is_refused() -> None:
    with pytest.raises(TypeError, match=r"calculator `body\.spare`: `height_cm` states no unit"):

        @calculator("body.spare", "kg")
        def spare(weight_kg: Kg, height_cm: float) -> float:
            return weight_kg * height_cm

    assert "body.spare" not in CALCULATORS


@pytest.mark.parametrize("each", CALCULATORS.values(), ids=lambda each: each.name)
def test_inputs_are_the_parameters_of_the_function(each: Calculator) -> None:
    parameters = inspect.signature(each.function).parameters
    assert [field.name for field in each.inputs] == list(parameters)
    assert each.mark in MARKS
    assert each.source
    assert (each.function.__doc__ or "").strip()


@pytest.mark.parametrize("each", CALCULATORS.values(), ids=lambda each: each.name)
@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(data=st.data())
def test_every_calculator_stands_the_whole_range_of_people(
    each: Calculator, data: st.DataObject
) -> None:
    arguments = [
        data.draw(BY_NAME.get(field.name, BY_UNIT.get(field.unit, st.nothing())), field.name)
        for field in each.inputs
    ]
    result = each.function(*arguments)
    if isinstance(result, Estimate):
        assert result.low <= result.value <= result.high
    elif each.unit == "date":
        assert isinstance(result, date)
    else:
        assert isinstance(result, float)
        assert math.isfinite(result)
    assert each.function(*arguments) == result


def test_an_estimate_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match=r"low: 3\.0 is not allowed; .* no greater than value"):
        Estimate(2.0, 3.0, 4.0)
    with pytest.raises(ValueError, match="high: inf is not allowed"):
        Estimate(2.0, 1.0, math.inf)


def test_estimates_around_a_value() -> None:
    assert around(10.0, 2.0) == Estimate(10.0, 8.0, 12.0)
    assert around_within(1.0, 2.0, 0.0, 2.5) == Estimate(1.0, 0.0, 2.5)
