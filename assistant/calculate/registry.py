"""Every calculator a rule may name, by its name."""

from collections.abc import Mapping
from types import MappingProxyType

from assistant.calculate.calculator import Calculator, CalculatorInput
from assistant.calculate.catalogue_body import BODY_CALCULATORS
from assistant.calculate.catalogue_energy import ENERGY_CALCULATORS
from assistant.calculate.catalogue_food import FOOD_CALCULATORS
from assistant.calculate.catalogue_training import TRAINING_CALCULATORS
from assistant.calculate.estimate import Estimate

__all__ = ["CALCULATORS", "Calculator", "CalculatorInput", "Estimate"]

_ALL = (*BODY_CALCULATORS, *ENERGY_CALCULATORS, *FOOD_CALCULATORS, *TRAINING_CALCULATORS)

CALCULATORS: Mapping[str, Calculator] = MappingProxyType({each.name: each for each in _ALL})
