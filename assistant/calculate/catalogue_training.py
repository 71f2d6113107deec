"""Calculators of doses, dates and loads: ``dose.*``, ``phase.*``, ``strength.*``."""

from assistant.calculate import dose, phase_bands, phases
from assistant.calculate.calculator import (
    BY_DEFINITION,
    COMMON_PRACTICE,
    SECOND_HAND,
    Calculator,
    Origin,
    calculator,
)

_E1RM = Origin("mean of Epley 1985, Brzycki 1993 and Wathan 1994", SECOND_HAND)
_LAYOUT = {
    "start": "date",
    "target_date": "date",
    "cut_weeks": "wk",
    "maintain_weeks": "wk",
    "least_cut_weeks": "wk",
    "least_gain_weeks": "wk",
}

TRAINING_CALCULATORS: tuple[Calculator, ...] = (
    calculator(
        "dose.frequency",
        dose.frequency,
        "{sessions}/wk",
        COMMON_PRACTICE,
        sets_per_week="{sets}/wk",
        cap_per_session="{sets}",
        minimum="{sessions}/wk",
        maximum="{sessions}/wk",
    ),
    calculator(
        "phase.weeks_between",
        phases.weeks_between,
        "wk",
        BY_DEFINITION,
        first_date="date",
        second_date="date",
    ),
    calculator(
        "phase.add_weeks",
        phases.add_weeks,
        "date",
        BY_DEFINITION,
        first_date="date",
        weeks="wk",
    ),
    calculator("phase.hold_from", phase_bands.hold_from, "date", COMMON_PRACTICE, **_LAYOUT),
    calculator("phase.cut_from", phase_bands.cut_from, "date", COMMON_PRACTICE, **_LAYOUT),
    calculator("phase.missing_weeks", phase_bands.missing_weeks, "wk", COMMON_PRACTICE, **_LAYOUT),
    calculator(
        "phase.cut_until",
        phase_bands.cut_until,
        "date",
        COMMON_PRACTICE,
        start="date",
        target_date="date",
        cut_weeks="wk",
    ),
    calculator(
        "phase.weight_band",
        phase_bands.weight_band,
        "kg",
        BY_DEFINITION,
        from_low_kg="kg",
        from_high_kg="kg",
        slow_or_fall_kg_per_week="kg/wk",
        fast_or_rise_kg_per_week="kg/wk",
        weeks="wk",
    ),
    calculator(
        "phase.girth_band",
        phase_bands.girth_band,
        "cm",
        BY_DEFINITION,
        girth_cm="cm",
        weight_kg="kg",
        later_low_kg="kg",
        later_high_kg="kg",
        cm_per_kg="cm/kg",
        cm_per_kg_error="cm/kg",
    ),
    calculator(
        "phase.weeks_for_change",
        phase_bands.weeks_for_change,
        "wk",
        BY_DEFINITION,
        now_kg="kg",
        wanted_kg="kg",
        pace_kg_per_week="kg/wk",
    ),
)
