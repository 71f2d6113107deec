"""Calculators of doses, dates and loads: ``dose.*``, ``phase.*``, ``strength.*``."""

from assistant.calculate import dose, phases, strength
from assistant.calculate.calculator import (
    BY_DEFINITION,
    COMMON_PRACTICE,
    SECOND_HAND,
    Calculator,
    Origin,
    calculator,
)

_E1RM = Origin("mean of Epley 1985, Brzycki 1993 and Wathan 1994", SECOND_HAND)

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
        "dose.next_week_ceiling",
        dose.next_week_ceiling,
        "{sets}/wk",
        COMMON_PRACTICE,
        sets_now="{sets}/wk",
        sets_three_weeks_ago="{sets}/wk",
        step_sets="{sets}/wk",
        step_percent="%",
    ),
    calculator(
        "dose.sessions_for_minutes",
        dose.sessions_for_minutes,
        "1",
        BY_DEFINITION,
        minutes_available="min",
        minutes_per_session="min",
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
        "phase.days_between",
        phases.days_between,
        "d",
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
    calculator("strength.e1rm", strength.e1rm, "kg", _E1RM, load_kg="kg", reps="1", rir="1"),
    calculator("strength.percent_of_1rm", strength.percent_of_1rm, "%", _E1RM, reps="1", rir="1"),
    calculator(
        "strength.load",
        strength.load_for,
        "kg",
        _E1RM,
        e1rm_kg="kg",
        reps="1",
        rir="1",
        step_kg="kg",
    ),
)
