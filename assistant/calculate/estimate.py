"""A number that admits how far off it may be."""

from dataclasses import dataclass

from assistant.calculate.checks import require_finite, require_not_negative, require_ordered


@dataclass(frozen=True, slots=True)
class Estimate:
    """A central value with a low and a high end, all in one unit.

    Unless the function that made it says otherwise, ``low`` and ``high`` lie one standard error
    from ``value``: about two people in three are inside. Raises ``ValueError`` when a number is
    not finite or the three are out of order.
    """

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse numbers that are not finite or not in order."""
        for field in ("value", "low", "high"):
            require_finite(field, getattr(self, field))
        require_ordered("low", self.low, "value", self.value)
        require_ordered("value", self.value, "high", self.high)

    @property
    def half_width(self) -> float:
        """Half the distance from low to high, in the unit of the value."""
        return (self.high - self.low) / 2.0


def around(value: float, standard_error: float) -> Estimate:
    """Return ``value`` plus and minus one standard error (same unit)."""
    require_not_negative("standard_error", standard_error)
    return Estimate(value, value - standard_error, value + standard_error)


def around_within(value: float, standard_error: float, lowest: float, highest: float) -> Estimate:
    """Return ``around(value, standard_error)`` held between two possible extremes."""
    require_not_negative("standard_error", standard_error)

    def held(number: float) -> float:
        return min(max(number, lowest), highest)

    return Estimate(held(value), held(value - standard_error), held(value + standard_error))
