"""Units as text (UCUM spelling where it has one): well-formedness, equality, products.

Only what load-time checks need. Nothing is converted: rules reason in one unit per fact.
"""

import re
from collections import Counter
from collections.abc import Iterable

_ATOMS = frozenset(
    {"1", "%", "kg", "g", "mg", "[lb_av]", "m", "cm", "mm", "m2", "[in_i]", "a", "mo", "wk", "d"}
    | {"h", "min", "s", "kcal", "Mcal", "kJ", "L", "mL", "W", "mm[Hg]", "Cel", "mmol"}
)
_ANNOTATION = re.compile(r"\{[a-z_]+\}")
NOT_NUMBERS = ("text", "date")


def is_known(unit: str) -> bool:
    """Whether a unit is spelled with known parts; `{sets}` and the like may be any word."""
    if unit in NOT_NUMBERS:
        return True
    return all(
        part in _ATOMS or _ANNOTATION.fullmatch(part)
        for ratio in unit.split("/")
        for part in ratio.split(".")
    )


def product(units: Iterable[str]) -> dict[str, int]:
    """Powers of the parts of a product of units; equal dictionaries mean equal units.

    >>> product(["g/kg/d", "kg"]) == product(["g/d"])
    True
    """
    powers: Counter[str] = Counter()
    for unit in units:
        numerator, *denominators = unit.split("/")
        for part in numerator.split("."):
            powers[part] += 1
        for denominator in denominators:
            for part in denominator.split("."):
                powers[part] -= 1
    return {part: power for part, power in powers.items() if power and part != "1"}


def spelled(powers: dict[str, int]) -> str:
    """Write powers as one unit again."""
    top = [part for part, power in sorted(powers.items()) for _ in range(power)]
    bottom = [part for part, power in sorted(powers.items()) for _ in range(-power)]
    return "/".join([".".join(top) or "1", *bottom])
