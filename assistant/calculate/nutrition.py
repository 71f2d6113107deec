"""Protein, fat, carbohydrate, fibre and energy availability."""

import math

from assistant.calculate.calculator import (
    JUDGEMENT,
    Grams,
    GramsPerDay,
    GramsPerKgDay,
    GramsPerLbDay,
    GramsPerMcal,
    KcalPerDay,
    KcalPerKgDay,
    Kg,
    MealsPerDay,
    Percent,
    calculator,
)
from assistant.calculate.checks import (
    require_not_negative,
    require_ordered,
    require_percent,
    require_positive,
    require_weight_kg,
)
from assistant.calculate.estimate import Estimate, around
from assistant.calculate.units import KG_PER_LB

# Metabolisable energy by the general Atwater factors (common practice).
KCAL_PER_G_PROTEIN = 4.0
KCAL_PER_G_CARBOHYDRATE = 4.0
KCAL_PER_G_FAT = 9.0


# Errors assumed where the rule base gives none of its own (judgement).
INTAKE_ERROR_PERCENT = 10.0
EXERCISE_ERROR_PERCENT = 40.0
FAT_FREE_MASS_ERROR_PERCENT = 16.0 / 3.0  # 4 points of body fat at 25 % fat


@calculator("nutrition.protein_per_kg", "g/d")
def protein_per_kg(
    base_weight_kg: Kg,
    low_g_per_kg: GramsPerKgDay,
    high_g_per_kg: GramsPerKgDay,
    default_g_per_kg: GramsPerKgDay,
) -> Estimate:
    """Return daily protein in g from grams per kg of a base weight.

    The ends are the range in use, not standard errors. ``ValueError`` if the default lies
    outside it.
    """
    require_positive("base_weight_kg", base_weight_kg)
    require_not_negative("low_g_per_kg", low_g_per_kg)
    require_ordered("low_g_per_kg", low_g_per_kg, "default_g_per_kg", default_g_per_kg)
    require_ordered("default_g_per_kg", default_g_per_kg, "high_g_per_kg", high_g_per_kg)
    return Estimate(
        default_g_per_kg * base_weight_kg,
        low_g_per_kg * base_weight_kg,
        high_g_per_kg * base_weight_kg,
    )


def g_per_kg_from_g_per_lb(g_per_lb: float) -> float:
    """Return grams per kilogram from grams per pound."""
    return g_per_lb / float(KG_PER_LB)


@calculator("nutrition.protein_per_lb", "g/d")
def protein_per_lb(
    base_weight_kg: Kg,
    low_g_per_lb: GramsPerLbDay,
    high_g_per_lb: GramsPerLbDay,
    default_g_per_lb: GramsPerLbDay,
) -> Estimate:
    """Return daily protein in g from grams per pound of a base weight given in kg."""
    return protein_per_kg(
        base_weight_kg,
        g_per_kg_from_g_per_lb(low_g_per_lb),
        g_per_kg_from_g_per_lb(high_g_per_lb),
        g_per_kg_from_g_per_lb(default_g_per_lb),
    )


@calculator("nutrition.protein_per_meal", "g")
def protein_per_meal(protein_g_per_day: GramsPerDay, meals_per_day: MealsPerDay) -> Grams:
    """Return the protein of one meal, where all meals of a day hold alike."""
    require_not_negative("protein_g_per_day", protein_g_per_day)
    require_positive("meals_per_day", meals_per_day)
    return protein_g_per_day / meals_per_day


@calculator(
    "nutrition.fat", "g/d", "general Atwater factors 4, 4 and 9 kcal/g; common practice", JUDGEMENT
)
def fat(
    energy_kcal_per_day: KcalPerDay,
    weight_kg: Kg,
    floor_percent: Percent,
    floor_g_per_kg: GramsPerKgDay,
    aim_g_per_kg: GramsPerKgDay,
    ceiling_percent: Percent,
) -> Estimate:
    """Return daily fat in g: an aim held above a floor and under a share of energy.

    The floor is the greater of a share of energy and grams per kg. Where it passes the ceiling
    (heavy person, little food) the floor wins. The ends are floor and ceiling.
    """
    require_positive("energy_kcal_per_day", energy_kcal_per_day)
    require_percent("floor_percent", floor_percent)
    require_percent("ceiling_percent", ceiling_percent)
    by_share = energy_kcal_per_day * floor_percent / 100.0 / KCAL_PER_G_FAT
    floor = max(by_share, floor_g_per_kg * require_weight_kg(weight_kg))
    ceiling = max(energy_kcal_per_day * ceiling_percent / 100.0 / KCAL_PER_G_FAT, floor)
    return Estimate(min(max(aim_g_per_kg * weight_kg, floor), ceiling), floor, ceiling)


def energy_left_kcal_per_day(
    energy_kcal_per_day: float, protein_g_per_day: float, fat_g_per_day: float
) -> float:
    """Return the energy left for carbohydrate in kcal/d; below 0 when the rest overshoots."""
    return (
        energy_kcal_per_day
        - KCAL_PER_G_PROTEIN * protein_g_per_day
        - KCAL_PER_G_FAT * fat_g_per_day
    )


def carbohydrate(
    energy_kcal_per_day: float, protein_g_per_day: float, fat_g_per_day: float
) -> float:
    """Return the carbohydrate that fills the day's energy, in g, never below 0.

    Where protein and fat alone overshoot, :func:`energy_left_kcal_per_day` is below 0 and a rule
    has to say so.
    """
    left = energy_left_kcal_per_day(energy_kcal_per_day, protein_g_per_day, fat_g_per_day)
    return max(left, 0.0) / KCAL_PER_G_CARBOHYDRATE


@calculator(
    "nutrition.carbohydrate_range",
    "g/d",
    "general Atwater factors 4, 4 and 9 kcal/g; common practice",
    JUDGEMENT,
)
def carbohydrate_range(
    energy_kcal_per_day: KcalPerDay,
    energy_error_kcal: KcalPerDay,
    protein_g_per_day: GramsPerDay,
    fat_g_per_day: GramsPerDay,
) -> Estimate:
    """Return :func:`carbohydrate` with the error of the day's energy carried over (g/d)."""
    require_not_negative("energy_error_kcal", energy_error_kcal)
    value, low, high = (
        carbohydrate(energy_kcal_per_day + shift, protein_g_per_day, fat_g_per_day)
        for shift in (0.0, -energy_error_kcal, energy_error_kcal)
    )
    return Estimate(value, low, high)


@calculator("nutrition.fibre", "g/d")
def fibre(energy_kcal_per_day: KcalPerDay, g_per_1000_kcal: GramsPerMcal) -> float:
    """Return daily fibre in g from grams per 1,000 kcal."""
    require_positive("energy_kcal_per_day", energy_kcal_per_day)
    return energy_kcal_per_day * require_not_negative("g_per_1000_kcal", g_per_1000_kcal) / 1000.0


def energy_availability_with_errors(
    intake_kcal_per_day: float,
    exercise_kcal_per_day: float,
    fat_free_mass_kg: float,
    intake_error_percent: float,
    exercise_error_percent: float,
    fat_free_mass_error_kg: float,
) -> Estimate:
    """Return energy availability in kcal per kg fat-free mass and day, with its error.

    (intake - exercise) / fat-free mass; Mountjoy et al. 2023, Br J Sports Med 57:1073 (read).
    Exercise energy is net of rest. The three errors are taken as independent.
    """
    require_not_negative("intake_kcal_per_day", intake_kcal_per_day)
    require_not_negative("exercise_kcal_per_day", exercise_kcal_per_day)
    require_positive("fat_free_mass_kg", fat_free_mass_kg)
    value = (intake_kcal_per_day - exercise_kcal_per_day) / fat_free_mass_kg
    error = math.hypot(
        intake_kcal_per_day * intake_error_percent / 100.0 / fat_free_mass_kg,
        exercise_kcal_per_day * exercise_error_percent / 100.0 / fat_free_mass_kg,
        value * fat_free_mass_error_kg / fat_free_mass_kg,
    )
    return around(value, error)


@calculator(
    "nutrition.energy_availability",
    "kcal/kg/d",
    "Mountjoy 2023, Br J Sports Med 57:1073; errors assumed",
    JUDGEMENT,
)
def energy_availability(
    intake_kcal_per_day: KcalPerDay, exercise_kcal_per_day: KcalPerDay, fat_free_mass_kg: Kg
) -> Estimate:
    """Return energy availability with the assumed errors of this module (kcal/kg/d).

    10 % of intake, 40 % of exercise, 5.3 % of fat-free mass (judgement).
    """
    return energy_availability_with_errors(
        intake_kcal_per_day,
        exercise_kcal_per_day,
        fat_free_mass_kg,
        INTAKE_ERROR_PERCENT,
        EXERCISE_ERROR_PERCENT,
        FAT_FREE_MASS_ERROR_PERCENT / 100.0 * fat_free_mass_kg,
    )


@calculator("nutrition.intake_for_availability", "kcal/d")
def intake_for_availability(
    availability_kcal_per_kg: KcalPerKgDay, exercise_kcal_per_day: KcalPerDay, fat_free_mass_kg: Kg
) -> float:
    """Return the intake in kcal/d that gives a wanted energy availability."""
    require_positive("fat_free_mass_kg", fat_free_mass_kg)
    return availability_kcal_per_kg * fat_free_mass_kg + exercise_kcal_per_day
