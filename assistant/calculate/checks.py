"""Refusals in one clear line: the field, the bad value, what is allowed and how to mend it."""

import math
from collections.abc import Collection

# Wide enough for every adult alive, narrow enough that metres, inches or pounds do not pass
# unnoticed as centimetres or kilograms.
HEIGHT_CM = (100.0, 250.0)
WEIGHT_KG = (20.0, 350.0)
AGE_YEARS = (14.0, 110.0)
GIRTH_CM = (10.0, 300.0)

SEXES = ("female", "male")


def require_finite(field: str, value: float) -> float:
    """Return ``value``; raise ``ValueError`` for NaN and infinities."""
    if math.isfinite(value):
        return value
    raise _refused(field, value, "a finite number")


def require_positive(field: str, value: float) -> float:
    """Return ``value``; raise ``ValueError`` unless it is finite and above zero."""
    if require_finite(field, value) > 0.0:
        return value
    raise _refused(field, value, "a number above 0")


def require_not_negative(field: str, value: float) -> float:
    """Return ``value``; raise ``ValueError`` unless it is finite and at least zero."""
    if require_finite(field, value) >= 0.0:
        return value
    raise _refused(field, value, "0 or more")


def require_between(field: str, value: float, limits: tuple[float, float], hint: str) -> float:
    """Return ``value``; raise ``ValueError`` outside ``limits`` (both ends allowed)."""
    low, high = limits
    if low <= require_finite(field, value) <= high:
        return value
    raise _refused(field, value, f"{low:g} to {high:g} {hint}")


def require_ordered(low_field: str, low: float, high_field: str, high: float) -> None:
    """Raise ``ValueError`` when the low end lies above the high end."""
    if low > high:
        raise _refused(low_field, low, f"a number no greater than {high_field} ({high!r})")


def require_choice(field: str, value: str, allowed: Collection[str]) -> str:
    """Return ``value``; raise ``ValueError`` unless it is one of ``allowed``."""
    if value in allowed:
        return value
    raise _refused(field, value, f"one of {', '.join(allowed)}")


def _refused(field: str, value: float | str, allowed: str) -> ValueError:
    return ValueError(f"{field}: {value!r} is not allowed; give {allowed}")


def require_height_cm(value: float) -> float:
    """Return a height in cm; metres, feet and inches are refused."""
    return require_between("height_cm", value, HEIGHT_CM, "in centimetres")


def require_weight_kg(value: float) -> float:
    """Return a body weight in kg inside the range of living adults."""
    return require_between("weight_kg", value, WEIGHT_KG, "in kilograms")


def require_age_years(value: float) -> float:
    """Return an age in years."""
    return require_between("age_years", value, AGE_YEARS, "in years")


def require_girth_cm(field: str, value: float) -> float:
    """Return a girth in cm."""
    return require_between(field, value, GIRTH_CM, "in centimetres")


def require_sex(value: str) -> str:
    """Return the sex the published equations were fitted on."""
    return require_choice("sex", value, SEXES)


def require_percent(field: str, value: float) -> float:
    """Return a percentage from 0 to 100."""
    return require_between(field, value, (0.0, 100.0), "percent")
