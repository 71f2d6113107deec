"""Calculators of energy: ``energy.*`` and the cost of training."""

from assistant.calculate import energy, measured, resting
from assistant.calculate.calculator import (
    BY_DEFINITION,
    COMMON_PRACTICE,
    FROM_MEMORY,
    JUDGEMENT,
    READ,
    SECOND_HAND,
    Calculator,
    Origin,
    calculator,
)

_MIFFLIN = Origin("Mifflin 1990, Am J Clin Nutr 51:241", READ)
_CUNNINGHAM_1980 = Origin("Cunningham 1980, Am J Clin Nutr 33:2372", SECOND_HAND)
_CUNNINGHAM_1991 = Origin("Cunningham 1991, Am J Clin Nutr 54:963", SECOND_HAND)
_HENRY = Origin("Henry 2005, Public Health Nutr 8(7A):1133", SECOND_HAND)
_TEN_HAAF = Origin("ten Haaf and Weijs 2014, PLoS ONE 9:e108460", SECOND_HAND)
_SPREAD = Origin("Mifflin 1990; Henry 2005 (weight-only form from memory)", FROM_MEMORY)
_SPREAD_TRAINED = Origin(
    "Mifflin 1990; Henry 2005; Cunningham 1980, 1991; ten Haaf 2014", FROM_MEMORY
)
_EER = Origin("National Academies 2023, 10.17226/26818", SECOND_HAND)
_METS = Origin("Herrmann 2024, J Sport Health Sci 13:6", SECOND_HAND)
_FLOOR = Origin("energy availability floor, resting energy and a least intake", JUDGEMENT)
_DENSITY_LOSS = Origin("Hall 2007, Br J Nutr 97:1059; Hall 2008, Int J Obes 32:573", FROM_MEMORY)
_DENSITY_GAIN = Origin("Hall 2008, Int J Obes 32:573; Hall 2011, Lancet 378:826", FROM_MEMORY)

_PERSON = {"sex": "text", "age_years": "a", "height_cm": "cm", "weight_kg": "kg"}
_LOG = {
    "prior_kcal_per_day": "kcal/d",
    "prior_error_kcal": "kcal/d",
    "log_scatter_percent": "%",
    "measured_kcal_per_day": "kcal/d",
    "measured_low_kcal": "kcal/d",
    "measured_high_kcal": "kcal/d",
}
_PACE = {"value": "%/wk", "low": "%/wk", "high": "%/wk", "line": "%/wk"}

_RESTING = (
    calculator(
        "energy.resting_mifflin_range",
        resting.mifflin_range,
        "kcal/d",
        _MIFFLIN,
        **_PERSON,
        individual_sd_percent="%",
    ),
    calculator(
        "energy.resting_cunningham_1991_range",
        resting.cunningham_1991_range,
        "kcal/d",
        _CUNNINGHAM_1991,
        fat_free_mass_kg="kg",
        fat_free_mass_sd_kg="kg",
        individual_sd_percent="%",
    ),
)

_MAINTENANCE = (
    calculator(
        "energy.maintenance_eer",
        energy.maintenance_eer,
        "kcal/d",
        _EER,
        **_PERSON,
        category="text",
        rmse_kcal_per_day="kcal/d",
    ),
    calculator(
        "energy.maintenance_from_log",
        measured.maintenance_from_log,
        "kcal/d",
        BY_DEFINITION,
        **_LOG,
    ),
    calculator(
        "energy.maintenance_from_log_ninety",
        measured.maintenance_from_log_ninety,
        "kcal/d",
        BY_DEFINITION,
        **_LOG,
    ),
    calculator(
        "review.step_towards",
        measured.step_towards,
        "kcal/d",
        BY_DEFINITION,
        now_kcal_per_day="kcal/d",
        wanted_kcal_per_day="kcal/d",
        least_kcal="kcal/d",
        most_kcal="kcal/d",
    ),
    calculator("review.chance_above", measured.chance_above, "%", BY_DEFINITION, **_PACE),
    calculator("review.chance_below", measured.chance_below, "%", BY_DEFINITION, **_PACE),
    calculator(
        "training.session_energy_net",
        energy.session_energy_net,
        "kcal/d",
        _METS,
        weight_kg="kg",
        sessions_per_week="{sessions}/wk",
        minutes="min",
        met="1",
    ),
)

_OFFSETS = (
    calculator(
        "energy.surplus",
        energy.surplus,
        "kcal/d",
        COMMON_PRACTICE,
        maintenance_kcal_per_day="kcal/d",
        percent="%",
        low_clamp_kcal="kcal/d",
        high_clamp_kcal="kcal/d",
    ),
    calculator(
        "energy.deficit_as_surplus",
        energy.deficit_as_surplus,
        "kcal/d",
        COMMON_PRACTICE,
        maintenance_kcal_per_day="kcal/d",
        percent="%",
        cap_kcal="kcal/d",
        floor_kcal_per_day="kcal/d",
    ),
    calculator(
        "energy.weight_change_per_week",
        energy.weight_change_kg_per_week,
        "kg/wk",
        BY_DEFINITION,
        weight_kg="kg",
        percent_per_week="%/wk",
    ),
)

ENERGY_CALCULATORS: tuple[Calculator, ...] = (*_RESTING, *_MAINTENANCE, *_OFFSETS)
