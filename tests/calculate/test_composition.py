"""Body measures against published equations worked by hand and an independent formula."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import composition as body

FAT_POINTS = 0.05


# Hodgdon and Beckett 1984 (density and Siri); the inch form of a later service regression,
# 163.205 log(w + h - n) - 97.684 log(ht) - 78.387, is an independent witness.
@pytest.mark.parametrize(
    ("waist", "hip", "neck", "height", "metric", "service"),
    [
        (72, 98, 32, 165, 27.43, 27.71),
        (80, 104, 33, 160, 35.21, 35.40),
        (68, 95, 31, 170, 23.04, 23.30),
    ],
)
def test_tape_women(
    waist: float, hip: float, neck: float, height: float, metric: float, service: float
) -> None:
    got = body.fat_percent_tape_women(waist, hip, neck, height)
    assert got.value == pytest.approx(metric, abs=FAT_POINTS)
    assert got.half_width == pytest.approx(3.72)
    in_inches = (
        163.205 * math.log10((waist + hip - neck) / 2.54)
        - 97.684 * math.log10(height / 2.54)
        - 78.387
    )
    assert in_inches == pytest.approx(service, abs=FAT_POINTS)
    assert got.value == pytest.approx(in_inches, abs=0.35)


def test_tape_density_women() -> None:
    assert body.density_tape_women(72, 98, 32, 165) == pytest.approx(1.03681, abs=5e-6)


# Men: abdomen at the navel; inch form 86.010 log(a - n) - 70.041 log(ht) + 36.76.
def test_tape_men() -> None:
    assert body.density_tape_men(85, 39, 180) == pytest.approx(1.06377, abs=5e-6)
    got = body.fat_percent_tape_men(85, 39, 180)
    assert got.value == pytest.approx(15.33, abs=FAT_POINTS)
    assert got.half_width == pytest.approx(3.52)
    inches = 86.010 * math.log10(34 - 15) - 70.041 * math.log10(70) + 36.76
    assert inches == pytest.approx(17.51, abs=FAT_POINTS)
    metric = body.fat_percent_tape_men(34 * 2.54, 15 * 2.54, 70 * 2.54)
    assert metric.value == pytest.approx(inches, abs=0.35)


def test_inches_in_place_of_centimetres_are_refused() -> None:
    with pytest.raises(ValueError, match=r"height_cm: 65 .* centimetres"):
        body.fat_percent_tape_women(28, 39, 12.6, 65)


def test_one_centimetre_of_waist_moves_half_a_point() -> None:
    thinner = body.fat_percent_tape_women(71, 98, 32, 165).value
    wider = body.fat_percent_tape_women(73, 98, 32, 165).value
    assert (wider - thinner) / 2 == pytest.approx(0.51, abs=0.02)


# Siri 1961: 495 / D - 450.
@pytest.mark.parametrize(("density", "percent"), [(1.05, 21.43), (1.07, 12.62), (1.10, 0.0)])
def test_siri(density: float, percent: float) -> None:
    assert body.siri(density) == pytest.approx(percent, abs=0.01)


# WHO body mass index definition and thinness limits.
def test_bmi() -> None:
    assert body.bmi(60, 165) == pytest.approx(22.04, abs=0.005)
    assert body.bmi(82, 180) == pytest.approx(25.31, abs=0.005)
    assert [body.bmi(kg, 165) for kg in (50, 45, 42)] == pytest.approx(
        [18.37, 16.53, 15.43], abs=0.005
    )


@pytest.mark.parametrize(
    ("index", "kg"), [(16, 43.56), (17, 46.28), (18.5, 50.37), (25, 68.06), (30, 81.67)]
)
def test_weight_at_a_body_mass_index(index: float, kg: float) -> None:
    assert body.weight_at_bmi(165, index) == pytest.approx(kg, abs=0.005)


def test_adjusted_weight_lies_between() -> None:
    reference = body.weight_at_bmi(160, 25)
    assert body.adjusted_weight(100, 160, 25, 25) == pytest.approx(
        reference + 0.25 * (100 - reference)
    )
    assert body.adjusted_weight(55, 160, 25, 25) == 55


# WHO 2008 consultation on waist (limits 0.85, 0.90) and NICE 2022 (0.5, 0.6).
def test_proportions() -> None:
    assert body.waist_to_hip(72, 98) == pytest.approx(0.735, abs=0.0005)
    assert body.waist_to_hip(83, 98) == pytest.approx(0.847, abs=0.0005)
    assert body.waist_to_hip(83, 98) < 0.85
    assert body.waist_to_hip(83.3, 98) == 0.85
    assert [body.waist_to_height(waist, 165) for waist in (82, 82.5, 99)] == pytest.approx(
        [0.497, 0.500, 0.600], abs=0.0005
    )
    assert body.waist_to_height(82.5, 165) >= 0.5
    assert body.waist_to_height(99, 165) >= 0.6
    assert body.shoulder_to_waist(105, 72) == pytest.approx(105 / 72)


def test_percent_lost_keeps_its_sign() -> None:
    assert body.percent_lost(80, 76) == pytest.approx(5)
    assert body.percent_lost(60, 61.2) == pytest.approx(-2)


def test_fat_free_mass_carries_the_error() -> None:
    mass = body.fat_free_mass(60, 25, 4)
    assert (mass.value, mass.low, mass.high) == pytest.approx((45, 42.6, 47.4))


@given(st.floats(30, 250), st.floats(120, 220))
def test_body_mass_index_and_its_inverse_agree(weight: float, height: float) -> None:
    assert body.weight_at_bmi(height, body.bmi(weight, height)) == pytest.approx(weight)
