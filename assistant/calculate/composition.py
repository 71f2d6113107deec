"""Body measures: indices, proportions, body fat by published equations, fat-free mass."""

import math

from assistant.calculate.calculator import (
    JUDGEMENT,
    SECOND_HAND,
    Cm,
    Kg,
    KgPerM2,
    Percent,
    calculator,
)
from assistant.calculate.checks import (
    require_girth_cm,
    require_height_cm,
    require_not_negative,
    require_percent,
    require_positive,
    require_weight_kg,
)
from assistant.calculate.estimate import Estimate, around_within

# Standard errors of the published equations, in percentage points of body fat.
TAPE_WOMEN_SEE_POINTS = 3.72
TAPE_MEN_SEE_POINTS = 3.52

# Regression lines run on past what a body can be; results are held inside this span.
POSSIBLE_FAT_PERCENT = (2.0, 75.0)


@calculator("body.bmi", "kg/m2")
def bmi(weight_kg: Kg, height_cm: Cm) -> float:
    """Return body mass index in kg/m2 (WHO definition)."""
    height_m = require_height_cm(height_cm) / 100.0
    return require_weight_kg(weight_kg) / height_m**2


@calculator("body.weight_at_bmi", "kg")
def weight_at_bmi(height_cm: Cm, bmi_kg_per_m2: KgPerM2) -> float:
    """Return the weight in kg at which a height has a given body mass index."""
    height_m = require_height_cm(height_cm) / 100.0
    return require_positive("bmi_kg_per_m2", bmi_kg_per_m2) * height_m**2


@calculator(
    "body.adjusted_weight",
    "kg",
    "part of the weight above a reference index; common practice",
    JUDGEMENT,
)
def adjusted_weight(
    weight_kg: Kg, height_cm: Cm, reference_bmi_kg_per_m2: KgPerM2, share_percent: Percent
) -> float:
    """Return a weight between the one at a reference index and the real one, in kg.

    ``share_percent`` of what lies above the reference counts; a person below it keeps the real
    weight.
    """
    reference = weight_at_bmi(height_cm, reference_bmi_kg_per_m2)
    above = max(require_weight_kg(weight_kg) - reference, 0.0)
    return weight_kg - above * (1.0 - require_percent("share_percent", share_percent) / 100.0)


@calculator("body.waist_to_hip", "1")
def waist_to_hip(waist_cm: Cm, hip_cm: Cm) -> float:
    """Return waist girth over hip girth (a ratio)."""
    return require_girth_cm("waist_cm", waist_cm) / require_girth_cm("hip_cm", hip_cm)


@calculator("body.waist_to_height", "1")
def waist_to_height(waist_cm: Cm, height_cm: Cm) -> float:
    """Return waist girth over height (a ratio). Compare it unrounded."""
    return require_girth_cm("waist_cm", waist_cm) / require_height_cm(height_cm)


@calculator("body.shoulder_to_waist", "1")
def shoulder_to_waist(shoulder_cm: Cm, waist_cm: Cm) -> float:
    """Return shoulder girth over waist girth (a ratio)."""
    return require_girth_cm("shoulder_cm", shoulder_cm) / require_girth_cm("waist_cm", waist_cm)


@calculator("body.percent_lost", "%")
def percent_lost(earlier_weight_kg: Kg, weight_kg: Kg) -> float:
    """Return the weight lost since earlier, in percent of the earlier weight (gain is below 0)."""
    require_weight_kg(weight_kg)
    require_positive("earlier_weight_kg", earlier_weight_kg)
    return 100.0 * (earlier_weight_kg - weight_kg) / earlier_weight_kg


def density_tape_women(waist_cm: float, hip_cm: float, neck_cm: float, height_cm: float) -> float:
    """Return body density in g/ml of women from girths.

    Waist at the narrowest, hip at the widest, neck below the larynx. Hodgdon and Beckett 1984,
    report 84-29 (second-hand).
    """
    span = (
        require_girth_cm("waist_cm", waist_cm)
        + require_girth_cm("hip_cm", hip_cm)
        - require_girth_cm("neck_cm", neck_cm)
    )
    require_positive("waist_cm + hip_cm - neck_cm", span)
    return 1.29579 - 0.35004 * math.log10(span) + 0.22100 * math.log10(require_height_cm(height_cm))


def density_tape_men(navel_cm: float, neck_cm: float, height_cm: float) -> float:
    """Return body density in g/ml of men from girths.

    Abdomen at the navel, neck below the larynx. Hodgdon and Beckett 1984, report 84-11
    (second-hand).
    """
    span = require_girth_cm("navel_cm", navel_cm) - require_girth_cm("neck_cm", neck_cm)
    require_positive("navel_cm - neck_cm", span)
    return 1.0324 - 0.19077 * math.log10(span) + 0.15456 * math.log10(require_height_cm(height_cm))


def siri(density_g_per_ml: float) -> float:
    """Return body fat in percent from body density (Siri 1961, read)."""
    return 495.0 / require_positive("density_g_per_ml", density_g_per_ml) - 450.0


def _possible_fat(percent: float, standard_error_points: float) -> Estimate:
    low, high = POSSIBLE_FAT_PERCENT
    return around_within(percent, standard_error_points, low, high)


@calculator("body.fat_percent_tape_women", "%", "Hodgdon and Beckett 1984, NHRC 84-29", SECOND_HAND)
def fat_percent_tape_women(waist_cm: Cm, hip_cm: Cm, neck_cm: Cm, height_cm: Cm) -> Estimate:
    """Return body fat of women by tape in percent, plus and minus the published error of 3.72.

    Sites and source as in :func:`density_tape_women`; held inside what a body can be.
    """
    percent = siri(density_tape_women(waist_cm, hip_cm, neck_cm, height_cm))
    return _possible_fat(percent, TAPE_WOMEN_SEE_POINTS)


@calculator("body.fat_percent_tape_men", "%", "Hodgdon and Beckett 1984, NHRC 84-11", SECOND_HAND)
def fat_percent_tape_men(navel_cm: Cm, neck_cm: Cm, height_cm: Cm) -> Estimate:
    """Return body fat of men by tape in percent, plus and minus the published error of 3.52.

    Sites and source as in :func:`density_tape_men`; held inside what a body can be.
    """
    percent = siri(density_tape_men(navel_cm, neck_cm, height_cm))
    return _possible_fat(percent, TAPE_MEN_SEE_POINTS)


@calculator("body.fat_free_mass", "kg")
def fat_free_mass(
    weight_kg: Kg, body_fat_percent: Percent, body_fat_sd_percent: Percent
) -> Estimate:
    """Return fat-free mass in kg with the error of the body-fat figure carried over."""
    require_weight_kg(weight_kg)
    require_percent("body_fat_percent", body_fat_percent)
    require_not_negative("body_fat_sd_percent", body_fat_sd_percent)
    value = weight_kg * (1.0 - body_fat_percent / 100.0)
    return around_within(value, weight_kg * body_fat_sd_percent / 100.0, 0.0, weight_kg)
