"""Four invented reference people; their figures are used across these checks."""

from typing import NamedTuple


class Person(NamedTuple):
    """Sex, age in years, height in cm, weight in kg; fat-free mass apart."""

    sex: str
    age_years: float
    height_cm: float
    weight_kg: float


W1 = Person("female", 30, 165, 60)
W2 = Person("female", 24, 170, 70)
W3 = Person("female", 45, 160, 72)
M1 = Person("male", 28, 180, 82)

W1_FAT_FREE_KG = 45.0
W2_FAT_FREE_KG = 54.6
M1_FAT_FREE_KG = 69.7
