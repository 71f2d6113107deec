"""What a tape can show: technical error, detectable change, and growth turned into girth."""

import math
from collections.abc import Sequence

from assistant.calculate.checks import (
    require_girth_cm,
    require_not_negative,
    require_positive,
)

# 1.96 standard errors of a difference of two readings: 1.96 x sqrt(2).
MDC95_FACTOR = 1.96 * math.sqrt(2.0)


def technical_error(differences_cm: Sequence[float]) -> float:
    """Return the technical error of measurement in cm from doubled readings.

    sqrt(sum of squared differences / twice the number of pairs); Ulijaszek and Kerr 1999, Br J
    Nutr 82:165 (abstract read). Raises ``ValueError`` without any pair.
    """
    require_positive("number of doubled readings", float(len(differences_cm)))
    squares = math.fsum(difference**2 for difference in differences_cm)
    return math.sqrt(squares / (2.0 * len(differences_cm)))


def technical_error_from_percent(girth_cm: float, error_percent: float) -> float:
    """Return the technical error in cm from the relative error in percent."""
    require_not_negative("error_percent", error_percent)
    return require_girth_cm("girth_cm", girth_cm) * error_percent / 100.0


def relative_technical_error(technical_error_cm: float, girth_cm: float) -> float:
    """Return the technical error in percent of the girth."""
    return 100.0 * technical_error_cm / require_girth_cm("girth_cm", girth_cm)


def detectable_change(technical_error_cm: float, readings_per_date: float) -> float:
    """Return the smallest girth change, in cm, that 95 % of pure noise stays below.

    Compares the mean of ``readings_per_date`` readings on each of two dates, with independent
    errors.
    """
    require_not_negative("technical_error_cm", technical_error_cm)
    require_positive("readings_per_date", readings_per_date)
    return MDC95_FACTOR * technical_error_cm / math.sqrt(readings_per_date)


def girth_change_from_growth(
    girth_cm: float, muscle_area_cm2: float, growth_percent: float
) -> float:
    """Return the girth change in cm when the muscle under the tape grows by a percentage.

    Takes the limb for a circle: sqrt(C^2 + 4 pi dA) - C. A rough guide; any change of fat swamps
    it. Raises ``ValueError`` when more area would vanish than the girth encloses.
    """
    require_girth_cm("girth_cm", girth_cm)
    require_positive("muscle_area_cm2", muscle_area_cm2)
    area_change_cm2 = muscle_area_cm2 * growth_percent / 100.0
    square = girth_cm**2 + 4.0 * math.pi * area_change_cm2
    require_not_negative("girth left after the change (squared)", square)
    return math.sqrt(square) - girth_cm
