"""Body measures: indices, proportions, body fat by published equations, fat-free mass."""

import math

from assistant.calculate.checks import (
    require_age_years,
    require_between,
    require_girth_cm,
    require_height_cm,
    require_not_negative,
    require_percent,
    require_positive,
    require_sex,
    require_weight_kg,
)
from assistant.calculate.estimate import Estimate, around_within

# Standard errors of the published equations, in percentage points of body fat.
TAPE_WOMEN_SEE_POINTS = 3.72
TAPE_MEN_SEE_POINTS = 3.52
DEURENBERG_SEE_POINTS = 4.1
SKINFOLD_WOMEN_SEE_POINTS = 3.9
SKINFOLD_MEN_SEE_POINTS = 3.4

# Regression lines run on past what a body can be; results are held inside this span.
POSSIBLE_FAT_PERCENT = (2.0, 75.0)

REFERENCE_HEIGHT_M = 1.80


def bmi(weight_kg: float, height_cm: float) -> float:
    """Return body mass index in kg/m2 (WHO definition)."""
    height_m = require_height_cm(height_cm) / 100.0
    return require_weight_kg(weight_kg) / height_m**2


def weight_at_bmi(height_cm: float, bmi_kg_per_m2: float) -> float:
    """Return the weight in kg at which a height has a given body mass index."""
    height_m = require_height_cm(height_cm) / 100.0
    return require_positive("bmi_kg_per_m2", bmi_kg_per_m2) * height_m**2


def adjusted_weight(
    weight_kg: float, height_cm: float, reference_bmi_kg_per_m2: float, share_percent: float
) -> float:
    """Return a weight between the one at a reference index and the real one, in kg.

    ``share_percent`` of what lies above the reference counts; a person below it keeps the real
    weight.
    """
    reference = weight_at_bmi(height_cm, reference_bmi_kg_per_m2)
    above = max(require_weight_kg(weight_kg) - reference, 0.0)
    return weight_kg - above * (1.0 - require_percent("share_percent", share_percent) / 100.0)


def waist_to_hip(waist_cm: float, hip_cm: float) -> float:
    """Return waist girth over hip girth (a ratio)."""
    return require_girth_cm("waist_cm", waist_cm) / require_girth_cm("hip_cm", hip_cm)


def waist_to_height(waist_cm: float, height_cm: float) -> float:
    """Return waist girth over height (a ratio). Compare it unrounded."""
    return require_girth_cm("waist_cm", waist_cm) / require_height_cm(height_cm)


def shoulder_to_waist(shoulder_cm: float, waist_cm: float) -> float:
    """Return shoulder girth over waist girth (a ratio)."""
    return require_girth_cm("shoulder_cm", shoulder_cm) / require_girth_cm("waist_cm", waist_cm)


def percent_lost(earlier_weight_kg: float, weight_kg: float) -> float:
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


def fat_percent_tape_women(
    waist_cm: float, hip_cm: float, neck_cm: float, height_cm: float
) -> Estimate:
    """Return body fat of women by tape in percent, plus and minus the published error of 3.72.

    Sites and source as in :func:`density_tape_women`; held inside what a body can be.
    """
    percent = siri(density_tape_women(waist_cm, hip_cm, neck_cm, height_cm))
    return _possible_fat(percent, TAPE_WOMEN_SEE_POINTS)


def fat_percent_tape_men(navel_cm: float, neck_cm: float, height_cm: float) -> Estimate:
    """Return body fat of men by tape in percent, plus and minus the published error of 3.52.

    Sites and source as in :func:`density_tape_men`; held inside what a body can be.
    """
    percent = siri(density_tape_men(navel_cm, neck_cm, height_cm))
    return _possible_fat(percent, TAPE_MEN_SEE_POINTS)


def deurenberg(bmi_kg_per_m2: float, age_years: float, sex: str) -> float:
    """Return body fat in percent from body mass index, age and sex.

    Deurenberg et al. 1991, Br J Nutr 65:105, 1,229 people (read). Reads far too high in lean,
    muscular people.
    """
    male = 1.0 if require_sex(sex) == "male" else 0.0
    require_positive("bmi_kg_per_m2", bmi_kg_per_m2)
    return 1.20 * bmi_kg_per_m2 + 0.23 * require_age_years(age_years) - 10.8 * male - 5.4


def fat_percent_deurenberg(bmi_kg_per_m2: float, age_years: float, sex: str) -> Estimate:
    """Return :func:`deurenberg` plus and minus its published error of 4.1 points."""
    return _possible_fat(deurenberg(bmi_kg_per_m2, age_years, sex), DEURENBERG_SEE_POINTS)


def relative_fat_mass(sex: str, height_cm: float, iliac_waist_cm: float) -> float:
    """Return body fat in percent from height and waist.

    Waist at the top of the hip bone. Woolcott and Bergman 2018, Sci Rep 8:10980 (read); not
    tested in lean trained women.
    """
    female = 1.0 if require_sex(sex) == "female" else 0.0
    waist = require_girth_cm("iliac_waist_cm", iliac_waist_cm)
    return 64.0 - 20.0 * require_height_cm(height_cm) / waist + 12.0 * female


def fat_percent_relative(
    sex: str, height_cm: float, iliac_waist_cm: float, error_points: float
) -> Estimate:
    """Return :func:`relative_fat_mass` plus and minus an error the rule base chooses."""
    return _possible_fat(relative_fat_mass(sex, height_cm, iliac_waist_cm), error_points)


def density_skinfold(sex: str, age_years: float, skinfold_sum_mm: float) -> float:
    """Return body density in g/ml from the sum of three skinfolds.

    Women: triceps, suprailiac, thigh (Jackson, Pollock and Ward 1980, Med Sci Sports Exerc
    12:175, 18 to 55 years). Men: chest, abdomen, thigh (Jackson and Pollock 1978, Br J Nutr
    40:497, 18 to 61 years). Both second-hand.
    """
    require_between("skinfold_sum_mm", skinfold_sum_mm, (5.0, 250.0), "in millimetres")
    if require_sex(sex) == "female":
        constant, slope, curve, per_year = 1.0994921, 0.0009929, 0.0000023, 0.0001392
    else:
        constant, slope, curve, per_year = 1.10938, 0.0008267, 0.0000016, 0.0002574
    return (
        constant
        - slope * skinfold_sum_mm
        + curve * skinfold_sum_mm**2
        - per_year * require_age_years(age_years)
    )


def fat_percent_skinfold(sex: str, age_years: float, skinfold_sum_mm: float) -> Estimate:
    """Return body fat in percent from three skinfolds, with the published error.

    3.9 points for women (from memory), 3.4 for men (second-hand); the measurer's own error
    comes on top.
    """
    percent = siri(density_skinfold(sex, age_years, skinfold_sum_mm))
    error = SKINFOLD_WOMEN_SEE_POINTS if sex == "female" else SKINFOLD_MEN_SEE_POINTS
    return _possible_fat(percent, error)


def fat_free_mass(
    weight_kg: float, body_fat_percent: float, body_fat_sd_percent: float
) -> Estimate:
    """Return fat-free mass in kg with the error of the body-fat figure carried over."""
    require_weight_kg(weight_kg)
    require_percent("body_fat_percent", body_fat_percent)
    require_not_negative("body_fat_sd_percent", body_fat_sd_percent)
    value = weight_kg * (1.0 - body_fat_percent / 100.0)
    return around_within(value, weight_kg * body_fat_sd_percent / 100.0, 0.0, weight_kg)


def fat_free_mass_index(fat_free_mass_kg: float, height_cm: float) -> float:
    """Return fat-free mass over height squared, in kg/m2 (Kouri et al. 1995, from memory)."""
    height_m = require_height_cm(height_cm) / 100.0
    return require_positive("fat_free_mass_kg", fat_free_mass_kg) / height_m**2


def fat_free_mass_index_normalised(fat_free_mass_kg: float, height_cm: float) -> float:
    """Return the index of a man carried to 1.80 m, in kg/m2.

    Kouri et al. 1995, Clin J Sport Med 5:223 (from memory).
    """
    height_m = require_height_cm(height_cm) / 100.0
    index = fat_free_mass_index(fat_free_mass_kg, height_cm)
    return index + 6.3 * (REFERENCE_HEIGHT_M - height_m)


def fat_free_mass_index_error(
    weight_kg: float, height_cm: float, body_fat_sd_percent: float
) -> float:
    """Return the standard error of the index in kg/m2 from the error of the body-fat figure."""
    height_m = require_height_cm(height_cm) / 100.0
    return require_weight_kg(weight_kg) * body_fat_sd_percent / 100.0 / height_m**2
