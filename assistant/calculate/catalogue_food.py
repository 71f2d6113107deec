"""Calculators of food: ``nutrition.*``."""

from assistant.calculate import nutrition
from assistant.calculate.calculator import (
    BY_DEFINITION,
    JUDGEMENT,
    Calculator,
    Origin,
    calculator,
)

_ATWATER = Origin("general Atwater factors 4, 4 and 9 kcal/g; common practice", JUDGEMENT)
_AVAILABILITY = Origin("Mountjoy 2023, Br J Sports Med 57:1073; errors assumed", JUDGEMENT)

FOOD_CALCULATORS: tuple[Calculator, ...] = (
    calculator(
        "nutrition.protein_per_kg",
        nutrition.protein_per_kg,
        "g/d",
        BY_DEFINITION,
        base_weight_kg="kg",
        low_g_per_kg="g/kg/d",
        high_g_per_kg="g/kg/d",
        default_g_per_kg="g/kg/d",
    ),
    calculator(
        "nutrition.protein_per_lb",
        nutrition.protein_per_lb,
        "g/d",
        BY_DEFINITION,
        base_weight_kg="kg",
        low_g_per_lb="g/[lb_av]/d",
        high_g_per_lb="g/[lb_av]/d",
        default_g_per_lb="g/[lb_av]/d",
    ),
    calculator(
        "nutrition.protein_per_meal",
        nutrition.protein_per_meal,
        "g",
        BY_DEFINITION,
        weight_kg="kg",
        low_g_per_kg="g/kg",
        high_g_per_kg="g/kg",
    ),
    calculator(
        "nutrition.fat",
        nutrition.fat,
        "g/d",
        _ATWATER,
        energy_kcal_per_day="kcal/d",
        weight_kg="kg",
        floor_percent="%",
        floor_g_per_kg="g/kg/d",
        aim_g_per_kg="g/kg/d",
        ceiling_percent="%",
    ),
    calculator(
        "nutrition.carbohydrate_range",
        nutrition.carbohydrate_range,
        "g/d",
        _ATWATER,
        energy_kcal_per_day="kcal/d",
        energy_error_kcal="kcal/d",
        protein_g_per_day="g/d",
        fat_g_per_day="g/d",
    ),
    calculator(
        "nutrition.fibre",
        nutrition.fibre,
        "g/d",
        BY_DEFINITION,
        energy_kcal_per_day="kcal/d",
        g_per_1000_kcal="g/Mcal",
    ),
    calculator(
        "nutrition.energy_availability",
        nutrition.energy_availability,
        "kcal/kg/d",
        _AVAILABILITY,
        intake_kcal_per_day="kcal/d",
        exercise_kcal_per_day="kcal/d",
        fat_free_mass_kg="kg",
    ),
    calculator(
        "nutrition.intake_for_availability",
        nutrition.intake_for_availability,
        "kcal/d",
        BY_DEFINITION,
        availability_kcal_per_kg="kcal/kg/d",
        exercise_kcal_per_day="kcal/d",
        fat_free_mass_kg="kg",
    ),
)
