"""Calculators of body measures: ``body.*``."""

from assistant.calculate import composition
from assistant.calculate.calculator import (
    BY_DEFINITION,
    FROM_MEMORY,
    JUDGEMENT,
    READ,
    SECOND_HAND,
    Calculator,
    Origin,
    calculator,
)

_TAPE_WOMEN = Origin("Hodgdon and Beckett 1984, NHRC 84-29", SECOND_HAND)
_TAPE_MEN = Origin("Hodgdon and Beckett 1984, NHRC 84-11", SECOND_HAND)
_DEURENBERG = Origin("Deurenberg 1991, Br J Nutr 65:105", READ)
_RELATIVE = Origin("Woolcott and Bergman 2018, Sci Rep 8:10980", READ)
_SKINFOLD = Origin("Jackson and Pollock 1978; Jackson, Pollock and Ward 1980", FROM_MEMORY)
_INDEX = Origin("Kouri 1995, Clin J Sport Med 5:223", FROM_MEMORY)
_ADJUSTED = Origin("part of the weight above a reference index; common practice", JUDGEMENT)
_TAPE_ERROR = Origin("Ulijaszek and Kerr 1999, Br J Nutr 82:165", READ)
_CIRCLE = Origin("circle model of a limb", JUDGEMENT)

BODY_CALCULATORS: tuple[Calculator, ...] = (
    calculator(
        "body.bmi",
        composition.bmi,
        "kg/m2",
        BY_DEFINITION,
        weight_kg="kg",
        height_cm="cm",
    ),
    calculator(
        "body.weight_at_bmi",
        composition.weight_at_bmi,
        "kg",
        BY_DEFINITION,
        height_cm="cm",
        bmi_kg_per_m2="kg/m2",
    ),
    calculator(
        "body.adjusted_weight",
        composition.adjusted_weight,
        "kg",
        _ADJUSTED,
        weight_kg="kg",
        height_cm="cm",
        reference_bmi_kg_per_m2="kg/m2",
        share_percent="%",
    ),
    calculator(
        "body.waist_to_hip",
        composition.waist_to_hip,
        "1",
        BY_DEFINITION,
        waist_cm="cm",
        hip_cm="cm",
    ),
    calculator(
        "body.waist_to_height",
        composition.waist_to_height,
        "1",
        BY_DEFINITION,
        waist_cm="cm",
        height_cm="cm",
    ),
    calculator(
        "body.shoulder_to_waist",
        composition.shoulder_to_waist,
        "1",
        BY_DEFINITION,
        shoulder_cm="cm",
        waist_cm="cm",
    ),
    calculator(
        "body.percent_lost",
        composition.percent_lost,
        "%",
        BY_DEFINITION,
        earlier_weight_kg="kg",
        weight_kg="kg",
    ),
    calculator(
        "body.fat_percent_tape_women",
        composition.fat_percent_tape_women,
        "%",
        _TAPE_WOMEN,
        waist_cm="cm",
        hip_cm="cm",
        neck_cm="cm",
        height_cm="cm",
    ),
    calculator(
        "body.fat_percent_tape_men",
        composition.fat_percent_tape_men,
        "%",
        _TAPE_MEN,
        navel_cm="cm",
        neck_cm="cm",
        height_cm="cm",
    ),
    calculator(
        "body.fat_free_mass",
        composition.fat_free_mass,
        "kg",
        BY_DEFINITION,
        weight_kg="kg",
        body_fat_percent="%",
        body_fat_sd_percent="%",
    ),
)
