"""Unit conversions that round once, at the very end.

The factors are exact by definition: 1 lb = 0.45359237 kg and 1 in = 2.54 cm (international yard
and pound agreement, 1959), 1 kcal = 4.184 kJ (thermochemical calorie). A number is read as the
decimal a person typed, converted in exact fractions and rounded to the nearest float once.
Rounding to nearest keeps order, so a conversion cannot carry a person over a line.
"""

from fractions import Fraction

from assistant.calculate.checks import require_finite, require_not_negative

KG_PER_LB = Fraction(45_359_237, 100_000_000)
LB_PER_STONE = Fraction(14)
CM_PER_INCH = Fraction(254, 100)
INCHES_PER_FOOT = 12
KJ_PER_KCAL = Fraction(4184, 1000)


def as_typed(field: str, value: float) -> Fraction:
    """Return the exact decimal that ``value`` prints as; ``ValueError`` if not finite."""
    return Fraction(repr(float(require_finite(field, value))))


def kg_from_lb(weight_lb: float) -> float:
    """Return kilograms from pounds."""
    return float(as_typed("weight_lb", weight_lb) * KG_PER_LB)


def lb_from_kg(weight_kg: float) -> float:
    """Return pounds from kilograms."""
    return float(as_typed("weight_kg", weight_kg) / KG_PER_LB)


def kg_from_stone(stone: float, pounds: float = 0.0) -> float:
    """Return kilograms from stones and pounds (14 lb to the stone)."""
    in_pounds = as_typed("stone", stone) * LB_PER_STONE + as_typed("pounds", pounds)
    return float(in_pounds * KG_PER_LB)


def cm_from_inches(inches: float) -> float:
    """Return centimetres from inches."""
    return float(as_typed("inches", inches) * CM_PER_INCH)


def inches_from_cm(length_cm: float) -> float:
    """Return inches from centimetres."""
    return float(as_typed("length_cm", length_cm) / CM_PER_INCH)


def cm_from_feet_and_inches(feet: float, inches: float) -> float:
    """Return centimetres from feet and inches; inches must lie from 0 to below 12.

    Raises ``ValueError`` for 12 inches or more, which is nearly always a slip of the keyboard.
    """
    require_not_negative("feet", feet)
    require_not_negative("inches", inches)
    if inches >= INCHES_PER_FOOT:
        raise ValueError(f"inches: {inches!r} is not allowed; give 0 to under 12, or one more foot")
    total = as_typed("feet", feet) * INCHES_PER_FOOT + as_typed("inches", inches)
    return float(total * CM_PER_INCH)


def kcal_from_kj(energy_kj: float) -> float:
    """Return kilocalories from kilojoules."""
    return float(as_typed("energy_kj", energy_kj) / KJ_PER_KCAL)
