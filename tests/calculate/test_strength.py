"""One-repetition maximum against the published formulas and the printed load table."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import strength


# Epley 1985, Brzycki 1993, Wathan 1994.
@pytest.mark.parametrize(
    ("load", "reps", "expected"),
    [
        (100, 3, (110.00, 105.88, 108.98)),
        (100, 5, (116.67, 112.50, 116.58)),
        (60, 8, (76.00, 74.48, 76.60)),
        (100, 10, (133.33, 133.33, 134.75)),
        (80, 12, (112.00, 115.20, 113.20)),
        (40, 15, (60.00, 65.45, 60.36)),
    ],
)
def test_formulas(load: float, reps: float, expected: tuple[float, ...]) -> None:
    formulas = (strength.epley, strength.brzycki, strength.wathan)
    got = [load * formula(reps) for formula in formulas]
    assert got == pytest.approx(expected, abs=0.01)


def test_one_repetition_is_the_maximum() -> None:
    assert strength.e1rm(100, 1, 0).value == 100
    # The raw formula would say otherwise.
    assert 100 * strength.wathan(1) == pytest.approx(101.30, abs=0.01)


def test_mean_up_to_ten_and_one_formula_above() -> None:
    ten = strength.e1rm(60, 8, 2)
    assert (ten.low, ten.high) == pytest.approx((80.0, 80.85), abs=0.01)
    assert ten.value == pytest.approx((80.0 + 80.0 + 80.85) / 3, abs=0.01)
    six = strength.e1rm(100, 5, 1)
    assert (six.low, six.high) == pytest.approx((116.13, 120.33), abs=0.01)
    assert strength.e1rm(100, 10, 0.2).value == pytest.approx(100 * (1 + 10.2 / 30))
    twelve = strength.e1rm(80, 12, 0)
    assert (twelve.value, twelve.low, twelve.high) == pytest.approx((112.0, 112.0, 115.2), abs=0.01)


# Printed load table of a strength and conditioning textbook (second-hand), 1 to 10 repetitions.
PRINTED_PERCENT = (100, 95, 93, 90, 87, 85, 83, 80, 77, 75)

MEAN_PERCENT = (
    100, 95.4, 92.4, 89.5, 86.8, 84.2, 81.7, 79.3, 77.0, 74.7, 72.6, 70.5, 68.5, 66.6, 64.7,
)  # fmt: skip


def test_percent_of_maximum() -> None:
    got = [strength.percent_of_1rm(reps, 0) for reps in range(1, 16)]
    assert got == pytest.approx(MEAN_PERCENT, abs=0.06)
    assert got[:10] == pytest.approx(PRINTED_PERCENT, abs=1.5)


@pytest.mark.parametrize(
    ("reps", "rir", "percent"), [(8, 2, 74.7), (5, 2, 81.7), (12, 1, 68.5), (10, 3, 68.5)]
)
def test_load_from_repetitions_and_reserve(reps: float, rir: float, percent: float) -> None:
    assert strength.percent_of_1rm(reps, rir) == pytest.approx(percent, abs=0.06)


@pytest.mark.parametrize(("reps", "rir"), [(16, 0), (12, 4), (0, 0), (0.5, 2)])
def test_outside_the_valid_range_is_refused(reps: float, rir: float) -> None:
    with pytest.raises(ValueError, match=r"reps.* give 1 to 15 repetitions"):
        strength.e1rm(100, reps, rir)


def test_rounding_down_lands_on_the_step() -> None:
    assert strength.round_down_to_step(74.9, 2.5) == 72.5
    assert strength.round_down_to_step(75.0, 2.5) == 75.0
    assert strength.round_down_to_step(0.3, 0.1) == pytest.approx(0.3)


@given(st.floats(0, 400), st.sampled_from([0.5, 1.0, 1.25, 2.0, 2.5, 5.0]))
def test_rounding_never_goes_up_nor_loses_a_step(load: float, step: float) -> None:
    rounded = strength.round_down_to_step(load, step)
    assert rounded <= load + 1e-8
    assert load - rounded < step


@given(st.floats(1, 300), st.integers(1, 14), st.integers(0, 1))
def test_more_repetitions_or_load_mean_more_strength(load: float, reps: int, rir: int) -> None:
    if reps + rir < 10:
        more = strength.e1rm(load, reps + 1, rir).value
        assert more > strength.e1rm(load, reps, rir).value
    assert strength.e1rm(load + 1, reps, rir).value > strength.e1rm(load, reps, rir).value
