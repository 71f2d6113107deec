"""Unit conversions against the defined factors, and their exactness."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import units

# What a person can type: up to three decimals.
typed = st.decimals(Decimal(0), Decimal(999), places=3, allow_nan=False).map(float)


# International yard and pound agreement 1959; thermochemical calorie.
def test_defined_factors() -> None:
    assert units.kg_from_lb(1) == 0.45359237
    assert units.kg_from_stone(1) == 6.35029318
    assert units.kg_from_stone(9, 6.5) == units.kg_from_lb(132.5)
    assert units.cm_from_inches(1) == 2.54
    assert units.cm_from_feet_and_inches(5, 4) == 162.56
    assert units.kcal_from_kj(4.184) == 1


@given(typed)
def test_round_trips_return_what_was_typed(value: float) -> None:
    assert round(units.lb_from_kg(units.kg_from_lb(value)), 9) == value
    assert round(units.inches_from_cm(units.cm_from_inches(value)), 9) == value
    assert round(units.kcal_from_kj(value) * 4.184, 9) == value


@given(typed)
def test_a_conversion_is_the_nearest_float_to_the_exact_answer(pounds: float) -> None:
    exact = Fraction(str(pounds)) * Fraction("0.45359237")
    assert units.kg_from_lb(pounds) == float(exact)


@given(typed, typed)
def test_a_conversion_never_carries_a_person_over_a_line(pounds: float, line_kg: float) -> None:
    exact_side = Fraction(str(pounds)) * Fraction("0.45359237") >= Fraction(str(line_kg))
    if exact_side:
        assert units.kg_from_lb(pounds) >= line_kg
    else:
        assert units.kg_from_lb(pounds) <= line_kg


def test_a_line_met_exactly_in_inches_is_met_in_centimetres() -> None:
    # Waist 32 in at 64 in tall is a ratio of exactly one half.
    assert units.cm_from_inches(32) / units.cm_from_inches(64) == 0.5


def test_bad_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="inches: 12 is not allowed; give 0 to under 12"):
        units.cm_from_feet_and_inches(5, 12)
    with pytest.raises(ValueError, match="weight_lb: nan is not allowed; give a finite number"):
        units.kg_from_lb(float("nan"))
