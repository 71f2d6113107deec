"""Every calculator a rule may name, by its name: importing a module offers what it holds."""

from collections.abc import Mapping

from assistant.calculate import (
    composition,
    dose,
    energy,
    measured,
    nutrition,
    phases,
    resting,
)
from assistant.calculate.calculator import Calculator, offered

_HOLDERS = (composition, dose, energy, measured, nutrition, phases, resting)

CALCULATORS: Mapping[str, Calculator] = offered()
