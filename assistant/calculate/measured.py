"""Maintenance measured from logs: intake and the slope of body weight, with their errors."""

import math

from assistant.calculate.calculator import KcalPerDay, Percent, PercentPerWeek, calculator
from assistant.calculate.checks import (
    require_between,
    require_not_negative,
    require_positive,
)
from assistant.calculate.estimate import Estimate, around

# Hall 2008, Int J Obes 32:573: 39.5 and 7.6 MJ/kg (fat read, lean from memory).
FAT_KCAL_PER_KG = 9441.0
LEAN_KCAL_PER_KG = 1816.0
# Forbes 1987; Hall 2007, Br J Nutr 97:1059 (constant from memory).
FORBES_KG = 10.4
# Cost of laying tissue down, Hall et al. 2011, Lancet 378:826 (from memory).
FAT_DEPOSITION_KCAL_PER_KG = 180.0
LEAN_DEPOSITION_KCAL_PER_KG = 230.0
_NARROWEST = 1e-6
# Standard errors on each side of a 90 % interval (normal distribution, table value).
NINETY = 1.6448536269514722


def measured_maintenance(
    mean_intake_kcal_per_day: float,
    weight_slope_kg_per_day: float,
    energy_density_kcal_per_kg: float,
) -> float:
    """Return maintenance in kcal/d: mean intake less what went into body weight.

    The answer is in logged units: people under-report, and the same bias is in the intake.
    """
    require_not_negative("mean_intake_kcal_per_day", mean_intake_kcal_per_day)
    require_positive("energy_density_kcal_per_kg", energy_density_kcal_per_kg)
    return mean_intake_kcal_per_day - energy_density_kcal_per_kg * weight_slope_kg_per_day


def energy_density_of_loss(fat_mass_kg: float) -> float:
    """Return the energy of a kg lost without lifting, in kcal/kg, from present fat mass.

    The lean share is 10.4 / (10.4 + fat mass): Forbes 1987, Hall 2007 (theory read, constant
    from memory). Lifting and protein keep more lean mass, so the truth lies nearer pure fat.
    """
    require_not_negative("fat_mass_kg", fat_mass_kg)
    lean_share = FORBES_KG / (FORBES_KG + fat_mass_kg)
    return (1.0 - lean_share) * FAT_KCAL_PER_KG + lean_share * LEAN_KCAL_PER_KG


def energy_density_of_gain(lean_share: float) -> float:
    """Return the energy a kg gained costs, in kcal/kg, with its deposition cost.

    ``lean_share`` from 0 to 1 is the part of the gain that is lean.
    """
    require_between("lean_share", lean_share, (0.0, 1.0), "as a share of one")
    fat_cost = FAT_KCAL_PER_KG + FAT_DEPOSITION_KCAL_PER_KG
    lean_cost = LEAN_KCAL_PER_KG + LEAN_DEPOSITION_KCAL_PER_KG
    return (1.0 - lean_share) * fat_cost + lean_share * lean_cost


def intake_standard_error(
    mean_intake_kcal_per_day: float,
    days_logged: float,
    days_in_window: float,
    day_to_day_variation: float,
) -> float:
    """Return the error of mean intake in kcal/d that comes from days not logged.

    0 when every day is logged: variation between days is then signal. ``day_to_day_variation``
    is the coefficient of variation, about 0.25 (from memory).
    """
    require_positive("days_logged", days_logged)
    require_between("days_logged", days_logged, (1.0, days_in_window), "days of the window")
    missing_share = (days_in_window - days_logged) / days_in_window
    spread = day_to_day_variation * mean_intake_kcal_per_day
    return spread * math.sqrt(missing_share / days_logged)


def maintenance_standard_error(
    intake_error_kcal_per_day: float,
    weight_slope_kg_per_day: float,
    slope_error_kg_per_day: float,
    energy_density_kcal_per_kg: float,
    energy_density_error_kcal_per_kg: float,
) -> float:
    """Return the standard error of measured maintenance in kcal/d (independent errors)."""
    return math.hypot(
        intake_error_kcal_per_day,
        energy_density_kcal_per_kg * slope_error_kg_per_day,
        weight_slope_kg_per_day * energy_density_error_kcal_per_kg,
    )


def blend(
    prior_kcal_per_day: float,
    prior_error_kcal: float,
    measured_kcal_per_day: float,
    measured_error_kcal: float,
) -> Estimate:
    """Return two estimates weighed by the inverse square of their errors (kcal/d)."""
    prior_weight = require_positive("prior_error_kcal", prior_error_kcal) ** -2
    measured_weight = require_positive("measured_error_kcal", measured_error_kcal) ** -2
    total = prior_weight + measured_weight
    value = (prior_kcal_per_day * prior_weight + measured_kcal_per_day * measured_weight) / total
    return around(value, total**-0.5)


@calculator("energy.maintenance_from_log", "kcal/d")
def maintenance_from_log(
    prior_kcal_per_day: KcalPerDay,
    prior_error_kcal: KcalPerDay,
    log_scatter_percent: Percent,
    measured_kcal_per_day: KcalPerDay,
    measured_low_kcal: KcalPerDay,
    measured_high_kcal: KcalPerDay,
) -> Estimate:
    """Return maintenance in the log's own units, plus and minus one standard error, in kcal/d.

    The equation knows true kilocalories and the log its own: how far logs are off from one person
    to the next (``log_scatter_percent`` of the prior) is added to the equation's error before the
    two are weighed. ``measured_low_kcal`` and ``measured_high_kcal`` are a 90 % interval.
    """
    scatter = prior_kcal_per_day * require_not_negative("log_scatter_percent", log_scatter_percent)
    prior_error = math.hypot(prior_error_kcal, scatter / 100.0)
    error = standard_error_of_ninety(measured_low_kcal, measured_high_kcal)
    return blend(prior_kcal_per_day, prior_error, measured_kcal_per_day, error)


@calculator("energy.maintenance_from_log_ninety", "kcal/d")
def maintenance_from_log_ninety(
    prior_kcal_per_day: KcalPerDay,
    prior_error_kcal: KcalPerDay,
    log_scatter_percent: Percent,
    measured_kcal_per_day: KcalPerDay,
    measured_low_kcal: KcalPerDay,
    measured_high_kcal: KcalPerDay,
) -> Estimate:
    """Return ``maintenance_from_log`` with the ends of its 90 % interval instead."""
    one = maintenance_from_log(
        prior_kcal_per_day, prior_error_kcal, log_scatter_percent, measured_kcal_per_day,
        measured_low_kcal, measured_high_kcal,
    )  # fmt: skip
    return around(one.value, one.half_width * NINETY)


@calculator("review.step_towards", "kcal/d")
def step_towards(
    now_kcal_per_day: KcalPerDay,
    wanted_kcal_per_day: KcalPerDay,
    least_kcal: KcalPerDay,
    most_kcal: KcalPerDay,
) -> float:
    """Return the size of a step of food towards what is wanted, in kcal/d, never under ``least_kcal``.

    The direction is the caller's; the distance is held between ``least_kcal`` and ``most_kcal``
    (the former, should a coach's own settings cross).
    """
    require_not_negative("least_kcal", least_kcal)
    distance = abs(wanted_kcal_per_day - now_kcal_per_day)
    return max(min(distance, most_kcal), least_kcal)


def standard_error_of_ninety(low: float, high: float) -> float:
    """Return the standard error behind a 90 % interval with normal errors (same unit).

    An interval without width is taken as a very narrow one, so that it can still be weighed.
    """
    width = require_not_negative("width of the interval", high - low)
    return max(width / (2.0 * NINETY), _NARROWEST)


@calculator("review.chance_above", "%")
def chance_above(
    value: PercentPerWeek, low: PercentPerWeek, high: PercentPerWeek, line: PercentPerWeek
) -> float:
    """Return the chance, in %, that a value with a 90 % interval lies above a line."""
    scale = standard_error_of_ninety(low, high) * math.sqrt(2.0)
    return 50.0 * math.erfc((line - value) / scale)


@calculator("review.chance_below", "%")
def chance_below(
    value: PercentPerWeek, low: PercentPerWeek, high: PercentPerWeek, line: PercentPerWeek
) -> float:
    """Return the chance, in %, that a value with a 90 % interval lies below a line."""
    return 100.0 - chance_above(value, low, high, line)
