"""Resting energy: published equations, their spread, and which of them a person may use."""

import math
from collections.abc import Collection
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

from assistant.calculate.checks import (
    require_age_years,
    require_height_cm,
    require_not_negative,
    require_positive,
    require_sex,
    require_weight_kg,
)
from assistant.calculate.estimate import Estimate, around, around_within
from assistant.calculate.units import KJ_PER_KCAL

_KJ_PER_KCAL = float(KJ_PER_KCAL)

CUNNINGHAM_1980_KCAL_PER_KG = 22.0
CUNNINGHAM_1991_KCAL_PER_KG = 21.6


def mifflin_st_jeor(sex: str, age_years: float, height_cm: float, weight_kg: float) -> float:
    """Return resting energy in kcal/d from weight, height and age.

    Mifflin et al. 1990, Am J Clin Nutr 51:241, 498 adults of 19 to 78 years (read).
    """
    constant = {"female": -161.0, "male": 5.0}[require_sex(sex)]
    return (
        10.0 * require_weight_kg(weight_kg)
        + 6.25 * require_height_cm(height_cm)
        - 5.0 * require_age_years(age_years)
        + constant
    )


def cunningham_1980(fat_free_mass_kg: float) -> float:
    """Return resting energy in kcal/d from fat-free mass; fits trained people.

    Cunningham 1980, Am J Clin Nutr 33:2372 (second-hand).
    """
    return 500.0 + CUNNINGHAM_1980_KCAL_PER_KG * require_positive(
        "fat_free_mass_kg", fat_free_mass_kg
    )


def cunningham_1991(fat_free_mass_kg: float) -> float:
    """Return resting energy in kcal/d from fat-free mass.

    Cunningham 1991, Am J Clin Nutr 54:963 (second-hand). Textbooks print the same line under
    another name, so it counts once.
    """
    return 370.0 + CUNNINGHAM_1991_KCAL_PER_KG * require_positive(
        "fat_free_mass_kg", fat_free_mass_kg
    )


class _AgeBand(NamedTuple):
    """Coefficients of one Henry age band: per kg, per metre, constant; then weight alone."""

    below_age_years: float
    per_kg: float
    per_metre: float
    constant: float
    alone_per_kg: float
    alone_constant: float


_HENRY = {
    "female": (
        _AgeBand(30.0, 10.4, 615.0, -282.0, 13.1, 558.0),
        _AgeBand(60.0, 8.18, 502.0, -11.6, 9.74, 694.0),
        _AgeBand(math.inf, 8.52, 421.0, 10.7, 10.1, 569.0),
    ),
    "male": (
        _AgeBand(30.0, 14.4, 313.0, 113.0, 16.0, 545.0),
        _AgeBand(60.0, 11.4, 541.0, -137.0, 14.2, 593.0),
        _AgeBand(math.inf, 11.4, 541.0, -256.0, 13.5, 514.0),
    ),
}


def _henry_band(sex: str, age_years: float) -> _AgeBand:
    require_age_years(age_years)
    return next(band for band in _HENRY[require_sex(sex)] if age_years < band.below_age_years)


def henry(sex: str, age_years: float, height_cm: float, weight_kg: float) -> float:
    """Return resting energy in kcal/d from weight and height, by age band.

    Henry 2005, Public Health Nutr 8(7A):1133 (second-hand). Bands: under 30, 30 to under 60, 60
    and over, so there is a small step on the 30th birthday. Under 18 the first band is extended.
    """
    band = _henry_band(sex, age_years)
    height_m = require_height_cm(height_cm) / 100.0
    return band.per_kg * require_weight_kg(weight_kg) + band.per_metre * height_m + band.constant


def henry_weight_only(sex: str, age_years: float, weight_kg: float) -> float:
    """Return resting energy in kcal/d from weight alone, by age band.

    Henry 2005, Public Health Nutr 8(7A):1133 (from memory).
    """
    band = _henry_band(sex, age_years)
    return band.alone_per_kg * require_weight_kg(weight_kg) + band.alone_constant


def ten_haaf(sex: str, age_years: float, height_cm: float, weight_kg: float) -> float:
    """Return resting energy in kcal/d for people who train nine hours a week or so.

    ten Haaf and Weijs 2014, PLoS ONE 9:e108460, 90 athletes of 18 to 35 years (coefficients
    second-hand). Published in kJ and metres; both are converted here, and a height given in
    metres is refused.
    """
    male = 1.0 if require_sex(sex) == "male" else 0.0
    energy_kj = (
        49.940 * require_weight_kg(weight_kg)
        + 2459.053 * require_height_cm(height_cm) / 100.0
        - 34.014 * require_age_years(age_years)
        + 799.257 * male
        + 122.502
    )
    return energy_kj / _KJ_PER_KCAL


def ten_haaf_fat_free_mass(fat_free_mass_kg: float) -> float:
    """Return resting energy in kcal/d from fat-free mass in athletes.

    ten Haaf and Weijs 2014, PLoS ONE 9:e108460 (coefficients second-hand); published in kJ.
    """
    energy_kj = 95.272 * require_positive("fat_free_mass_kg", fat_free_mass_kg) + 2026.161
    return energy_kj / _KJ_PER_KCAL


def resting_range(resting_kcal_per_day: float, individual_sd_percent: float) -> Estimate:
    """Return a resting value with one individual standard deviation to each side (kcal/d)."""
    require_positive("resting_kcal_per_day", resting_kcal_per_day)
    require_not_negative("individual_sd_percent", individual_sd_percent)
    return around(resting_kcal_per_day, resting_kcal_per_day * individual_sd_percent / 100.0)


def mifflin_range(
    sex: str,
    age_years: float,
    height_cm: float,
    weight_kg: float,
    individual_sd_percent: float,
) -> Estimate:
    """Return :func:`mifflin_st_jeor` with one individual standard deviation to each side."""
    value = mifflin_st_jeor(sex, age_years, height_cm, weight_kg)
    return resting_range(value, individual_sd_percent)


def fat_free_mass_range(
    resting_kcal_per_day: float,
    kcal_per_kg: float,
    fat_free_mass_sd_kg: float,
    individual_sd_percent: float,
) -> Estimate:
    """Return a resting value whose range joins the person's and the body-fat error (kcal/d).

    ``kcal_per_kg`` is the slope of the equation used; the two errors are taken as independent.
    """
    require_not_negative("fat_free_mass_sd_kg", fat_free_mass_sd_kg)
    individual = resting_range(resting_kcal_per_day, individual_sd_percent).half_width
    error = math.hypot(individual, kcal_per_kg * fat_free_mass_sd_kg)
    # A body fat guess can be so poor that one error to the left would pass below nothing.
    return around_within(resting_kcal_per_day, error, 0.0, math.inf)


def cunningham_1991_range(
    fat_free_mass_kg: float, fat_free_mass_sd_kg: float, individual_sd_percent: float
) -> Estimate:
    """Return :func:`cunningham_1991` with the person's and the body-fat error joined (kcal/d)."""
    return fat_free_mass_range(
        cunningham_1991(fat_free_mass_kg),
        CUNNINGHAM_1991_KCAL_PER_KG,
        fat_free_mass_sd_kg,
        individual_sd_percent,
    )


def cunningham_1980_range(
    fat_free_mass_kg: float, fat_free_mass_sd_kg: float, individual_sd_percent: float
) -> Estimate:
    """Return :func:`cunningham_1980` with the person's and the body-fat error joined (kcal/d)."""
    return fat_free_mass_range(
        cunningham_1980(fat_free_mass_kg),
        CUNNINGHAM_1980_KCAL_PER_KG,
        fat_free_mass_sd_kg,
        individual_sd_percent,
    )


def resting_spread(sex: str, age_years: float, height_cm: float, weight_kg: float) -> Estimate:
    """Return lowest, median and highest of the equations that need no body fat (kcal/d).

    Mifflin 1990 and both Henry 2005 forms. The ends are equations, not standard errors.
    """
    return _spread(
        (
            mifflin_st_jeor(sex, age_years, height_cm, weight_kg),
            henry(sex, age_years, height_cm, weight_kg),
            henry_weight_only(sex, age_years, weight_kg),
        )
    )


def resting_spread_trained(
    sex: str, age_years: float, height_cm: float, weight_kg: float, fat_free_mass_kg: float
) -> Estimate:
    """Return lowest, median and highest of all seven equations (kcal/d).

    For people who train and whose body fat was measured. The ends are equations, not errors.
    """
    return _spread(
        (
            mifflin_st_jeor(sex, age_years, height_cm, weight_kg),
            henry(sex, age_years, height_cm, weight_kg),
            henry_weight_only(sex, age_years, weight_kg),
            ten_haaf(sex, age_years, height_cm, weight_kg),
            cunningham_1980(fat_free_mass_kg),
            cunningham_1991(fat_free_mass_kg),
            ten_haaf_fat_free_mass(fat_free_mass_kg),
        )
    )


def _spread(kcal_per_day: tuple[float, ...]) -> Estimate:
    return Estimate(median(kcal_per_day), min(kcal_per_day), max(kcal_per_day))


@dataclass(frozen=True, slots=True)
class BodyFatReading:
    """A body-fat figure and how it was come by.

    ``sd_points`` is the standard error in percentage points of body weight.
    """

    percent: float
    method: str
    sd_points: float


@dataclass(frozen=True, slots=True)
class RestingEstimate:
    """Resting energy in kcal/d: the equation chosen, its value and its range.

    ``estimate`` reaches as far as the wider of two things on each side: the equations that suit
    this person, and one standard error of the chosen equation.
    """

    method: str
    estimate: Estimate
    between_equations: Estimate


def resting_estimate(
    sex: str,
    age_years: float,
    height_cm: float,
    weight_kg: float,
    *,
    body_fat: BodyFatReading | None,
    sessions_per_week: float,
    individual_sd_percent: float,
    sessions_needed: float,
    measured_methods: Collection[str],
) -> RestingEstimate:
    """Choose an equation and return its value with an honest range (kcal/d).

    Fat-free mass leads (Cunningham 1991) only when body fat came from one of
    ``measured_methods`` and the person trains at least ``sessions_needed`` times a week; in all
    other cases weight, height and age do (Mifflin 1990), since the fat-free equations read far
    too high for people who do not train.
    """
    fat_free_leads = (
        body_fat is not None
        and body_fat.method in measured_methods
        and sessions_per_week >= sessions_needed
    )
    if body_fat is not None and fat_free_leads:
        fat_free_mass_kg = weight_kg * (1.0 - body_fat.percent / 100.0)
        method = "cunningham_1991"
        own = cunningham_1991_range(
            fat_free_mass_kg, weight_kg * body_fat.sd_points / 100.0, individual_sd_percent
        )
        spread = resting_spread_trained(sex, age_years, height_cm, weight_kg, fat_free_mass_kg)
    else:
        method = "mifflin_1990"
        own = mifflin_range(sex, age_years, height_cm, weight_kg, individual_sd_percent)
        spread = resting_spread(sex, age_years, height_cm, weight_kg)
    joined = Estimate(own.value, min(own.low, spread.low), max(own.high, spread.high))
    return RestingEstimate(method, joined, spread)
