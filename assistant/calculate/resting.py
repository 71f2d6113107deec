"""Resting energy: published equations, their spread, and which of them a person may use."""

import math

from assistant.calculate.calculator import READ, SECOND_HAND, Cm, Kg, Percent, Years, calculator
from assistant.calculate.checks import (
    require_age_years,
    require_height_cm,
    require_not_negative,
    require_positive,
    require_sex,
    require_weight_kg,
)
from assistant.calculate.estimate import Estimate, around, around_within

CUNNINGHAM_1991_KCAL_PER_KG = 21.6


@calculator("energy.resting_mifflin", "kcal/d", "Mifflin 1990, Am J Clin Nutr 51:241", READ)
def mifflin_st_jeor(sex: str, age_years: Years, height_cm: Cm, weight_kg: Kg) -> float:
    """Return resting energy in kcal/d from weight, height and age.

    Mifflin et al. 1990, Am J Clin Nutr 51:241, 498 adults of 19 to 78 years (read).
    """
    constant = {"female": -161.0, "male": 5.0}[require_sex(sex)]
    return (
        10.0 * require_weight_kg(weight_kg)
        + 6.25 * require_height_cm(height_cm)
        - 5.0 * require_age_years(age_years)
        + constant
    )


def cunningham_1991(fat_free_mass_kg: float) -> float:
    """Return resting energy in kcal/d from fat-free mass.

    Cunningham 1991, Am J Clin Nutr 54:963 (second-hand). Textbooks print the same line under
    another name, so it counts once.
    """
    return 370.0 + CUNNINGHAM_1991_KCAL_PER_KG * require_positive(
        "fat_free_mass_kg", fat_free_mass_kg
    )


def resting_range(resting_kcal_per_day: float, individual_sd_percent: float) -> Estimate:
    """Return a resting value with one individual standard deviation to each side (kcal/d)."""
    require_positive("resting_kcal_per_day", resting_kcal_per_day)
    require_not_negative("individual_sd_percent", individual_sd_percent)
    return around(resting_kcal_per_day, resting_kcal_per_day * individual_sd_percent / 100.0)


@calculator("energy.resting_mifflin_range", "kcal/d", "Mifflin 1990, Am J Clin Nutr 51:241", READ)
def mifflin_range(
    sex: str,
    age_years: Years,
    height_cm: Cm,
    weight_kg: Kg,
    individual_sd_percent: Percent,
) -> Estimate:
    """Return :func:`mifflin_st_jeor` with one individual standard deviation to each side."""
    value = mifflin_st_jeor(sex, age_years, height_cm, weight_kg)
    return resting_range(value, individual_sd_percent)


@calculator(
    "energy.resting_cunningham_1991_range",
    "kcal/d",
    "Cunningham 1991, Am J Clin Nutr 54:963",
    SECOND_HAND,
)
def cunningham_1991_range(
    fat_free_mass_kg: Kg, fat_free_mass_sd_kg: Kg, individual_sd_percent: Percent
) -> Estimate:
    """Return :func:`cunningham_1991` with the person's and the body-fat error joined (kcal/d).

    The two errors are taken as independent.
    """
    require_not_negative("fat_free_mass_sd_kg", fat_free_mass_sd_kg)
    value = cunningham_1991(fat_free_mass_kg)
    individual = resting_range(value, individual_sd_percent).half_width
    error = math.hypot(individual, CUNNINGHAM_1991_KCAL_PER_KG * fat_free_mass_sd_kg)
    # A body fat guess can be so poor that one error to the left would pass below nothing.
    return around_within(value, error, 0.0, math.inf)
