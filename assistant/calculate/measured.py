"""Maintenance measured from logs: intake and the slope of body weight, with their errors."""

import math
from collections.abc import Sequence

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
# Hall et al. 2011: about 100 kJ/d for each kg in the end (second-hand).
LONG_RUN_KJ_PER_DAY_PER_KG = 100.0
_KJ_PER_KCAL = 4.184
# Standard errors on each side of a 90 % interval (normal distribution, table value).
_NARROWEST = 1e-6
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


def weight_slope_kg_per_day(days: Sequence[float], weights_kg: Sequence[float]) -> float:
    """Return the least-squares slope of weight on time, in kg/d; gaps between days are fine.

    Raises ``ValueError`` unless both have one length of at least two and the days differ.
    """
    if len(days) != len(weights_kg):
        message = (
            f"weights_kg: {len(weights_kg)} values are not allowed; give one for each of "
            f"the {len(days)} days"
        )
        raise ValueError(message)
    require_between("number of weights", float(len(days)), (2.0, math.inf), "weights")
    mean_day = math.fsum(days) / len(days)
    mean_weight = math.fsum(weights_kg) / len(weights_kg)
    spread = math.fsum((day - mean_day) ** 2 for day in days)
    require_positive("spread of days", spread)
    return (
        math.fsum(
            (day - mean_day) * (weight - mean_weight)
            for day, weight in zip(days, weights_kg, strict=True)
        )
        / spread
    )


def autocorrelation_factor(autocorrelation: float) -> float:
    """Return how much a lag-one autocorrelation widens the error of a slope or a mean."""
    require_between("autocorrelation", autocorrelation, (-0.95, 0.95), "(a correlation)")
    return math.sqrt((1.0 + autocorrelation) / (1.0 - autocorrelation))


def slope_standard_error(
    weighings: float, days_between: float, weight_noise_kg: float, autocorrelation: float
) -> float:
    """Return the standard error of a weight slope, in kg/d, for evenly spaced weighings."""
    require_between("weighings", weighings, (2.0, math.inf), "weighings")
    require_positive("days_between", days_between)
    require_not_negative("weight_noise_kg", weight_noise_kg)
    plain = weight_noise_kg / days_between * math.sqrt(12.0 / (weighings * (weighings**2 - 1.0)))
    return plain * autocorrelation_factor(autocorrelation)


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


def maintenance_from_log(
    prior_kcal_per_day: float,
    prior_error_kcal: float,
    log_scatter_percent: float,
    measured_kcal_per_day: float,
    measured_low_kcal: float,
    measured_high_kcal: float,
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


def maintenance_from_log_ninety(
    prior_kcal_per_day: float,
    prior_error_kcal: float,
    log_scatter_percent: float,
    measured_kcal_per_day: float,
    measured_low_kcal: float,
    measured_high_kcal: float,
) -> Estimate:
    """Return ``maintenance_from_log`` with the ends of its 90 % interval instead."""
    one = maintenance_from_log(
        prior_kcal_per_day, prior_error_kcal, log_scatter_percent, measured_kcal_per_day,
        measured_low_kcal, measured_high_kcal,
    )  # fmt: skip
    return around(one.value, one.half_width * NINETY)


def step_towards(
    now_kcal_per_day: float, wanted_kcal_per_day: float, least_kcal: float, most_kcal: float
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


def chance_above(value: float, low: float, high: float, line: float) -> float:
    """Return the chance, in %, that a value with a 90 % interval lies above a line."""
    scale = standard_error_of_ninety(low, high) * math.sqrt(2.0)
    return 50.0 * math.erfc((line - value) / scale)


def chance_below(value: float, low: float, high: float, line: float) -> float:
    """Return the chance, in %, that a value with a 90 % interval lies below a line."""
    return 100.0 - chance_above(value, low, high, line)


def worst_cycle_bias(
    window_days: int,
    amplitude_kg: float,
    cycle_days: float,
    energy_density_kcal_per_kg: float,
) -> float:
    """Return how far a monthly rhythm of water can push maintenance, in kcal/d.

    The rhythm is a sine over ``cycle_days``; the least lucky starting day is taken. Shows why a
    full cycle does not cancel out of a slope.
    """
    require_between("window_days", float(window_days), (2.0, math.inf), "days")
    require_positive("cycle_days", cycle_days)
    middle = (window_days - 1) / 2.0
    spread = math.fsum((day - middle) ** 2 for day in range(window_days))
    angle = 2.0 * math.pi / cycle_days
    in_phase = math.fsum((day - middle) * math.sin(angle * day) for day in range(window_days))
    shifted = math.fsum((day - middle) * math.cos(angle * day) for day in range(window_days))
    return amplitude_kg * math.hypot(in_phase, shifted) / spread * energy_density_kcal_per_kg


def same_phase_standard_error(
    days_averaged: float,
    days_apart: float,
    weight_noise_kg: float,
    autocorrelation: float,
    energy_density_kcal_per_kg: float,
) -> float:
    """Return the error in kcal/d of comparing two weekly means one full cycle apart."""
    require_positive("days_averaged", days_averaged)
    require_positive("days_apart", days_apart)
    difference = weight_noise_kg * math.sqrt(2.0 / days_averaged)
    per_day = difference * autocorrelation_factor(autocorrelation) / days_apart
    return per_day * energy_density_kcal_per_kg


def probability_outside(
    value: float, standard_error: float, band_low: float, band_high: float
) -> float:
    """Return the chance that the true value lies outside a band (normal errors)."""
    scale = require_positive("standard_error", standard_error) * math.sqrt(2.0)
    below = 0.5 * (1.0 + math.erf((band_low - value) / scale))
    above = 0.5 * (1.0 - math.erf((band_high - value) / scale))
    return below + above


def weight_change_after(
    intake_change_kcal_per_day: float, days: float, half_time_days: float
) -> float:
    """Return the weight change in kg some days after a lasting change of intake.

    Hall et al. 2011, Lancet 378:826: about 100 kJ/d for each kg in the end (second-hand), half
    of it in about a year (half time read). One exponential, so a rough guide.
    """
    require_not_negative("days", days)
    require_positive("half_time_days", half_time_days)
    in_the_end = intake_change_kcal_per_day * _KJ_PER_KCAL / LONG_RUN_KJ_PER_DAY_PER_KG
    return in_the_end * (1.0 - math.exp2(-days / half_time_days))
