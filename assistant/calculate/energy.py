"""Total energy: maintenance by activity category, training, surplus, deficit and floors."""

from typing import NamedTuple

from assistant.calculate.calculator import (
    COMMON_PRACTICE,
    SECOND_HAND,
    Cm,
    Days,
    KcalPerDay,
    Kg,
    Minutes,
    Percent,
    PercentPerWeek,
    Ratio,
    SessionsPerWeek,
    Years,
    calculator,
)
from assistant.calculate.checks import (
    require_age_years,
    require_choice,
    require_height_cm,
    require_not_negative,
    require_ordered,
    require_percent,
    require_positive,
    require_sex,
    require_weight_kg,
)
from assistant.calculate.estimate import Estimate, around

DAYS_PER_WEEK = 7.0
MINUTES_PER_HOUR = 60.0

# From the least to the most active; the order is used by the fallback below.
ACTIVITY_CATEGORIES = ("inactive", "low_active", "active", "very_active")


class _Line(NamedTuple):
    """One equation: constant, per year (taken off), per cm, per kg."""

    constant: float
    per_year: float
    per_cm: float
    per_kg: float


_EER_2023 = {
    "female": {
        "inactive": _Line(584.90, 7.01, 5.72, 11.71),
        "low_active": _Line(575.77, 7.01, 6.60, 12.14),
        "active": _Line(710.25, 7.01, 6.54, 12.34),
        "very_active": _Line(511.83, 7.01, 9.07, 12.56),
    },
    "male": {
        "inactive": _Line(753.07, 10.83, 6.50, 14.10),
        "low_active": _Line(581.47, 10.83, 8.30, 14.94),
        "active": _Line(1004.82, 10.83, 6.52, 15.91),
        "very_active": _Line(-517.88, 10.83, 15.61, 19.11),
    },
}


def eer_2023(
    sex: str, age_years: float, height_cm: float, weight_kg: float, category: str
) -> float:
    """Return the 2023 estimated energy requirement in kcal/d for one activity category.

    National Academies 2023, Dietary Reference Intakes for Energy, 10.17226/26818 (coefficients
    second-hand, category limits read in the national table). Fitted to people of 19 and over who
    are not pregnant or nursing; the rule base has to withhold it from others.

    The lines for very small men cross, so that more activity would seem to cost less. There the
    greatest of the lower categories stands in.
    """
    lines = _EER_2023[require_sex(sex)]
    require_choice("category", category, ACTIVITY_CATEGORIES)
    require_age_years(age_years)
    require_height_cm(height_cm)
    require_weight_kg(weight_kg)
    up_to_asked = ACTIVITY_CATEGORIES[: ACTIVITY_CATEGORIES.index(category) + 1]
    return max(
        lines[name].constant
        - lines[name].per_year * age_years
        + lines[name].per_cm * height_cm
        + lines[name].per_kg * weight_kg
        for name in up_to_asked
    )


@calculator(
    "energy.maintenance_eer", "kcal/d", "National Academies 2023, 10.17226/26818", SECOND_HAND
)
def maintenance_eer(
    sex: str,
    age_years: Years,
    height_cm: Cm,
    weight_kg: Kg,
    category: str,
    rmse_kcal_per_day: KcalPerDay,
) -> Estimate:
    """Return :func:`eer_2023` with one root mean square error to each side (kcal/d).

    The errors of the published fit are about 246 (women) and 339 (men), from memory.
    """
    requirement = eer_2023(sex, age_years, height_cm, weight_kg, category)
    return around(requirement, rmse_kcal_per_day)


@calculator(
    "energy.maintenance_eer_of_a_week",
    "kcal/d",
    "National Academies 2023, 10.17226/26818, weighted by days",
    SECOND_HAND,
)
def maintenance_eer_of_a_week(
    sex: str,
    age_years: Years,
    height_cm: Cm,
    weight_kg: Kg,
    category: str,
    days_per_week: Days,
    other_category: str,
    rmse_kcal_per_day: KcalPerDay,
) -> Estimate:
    """Return the mean of :func:`eer_2023` over a week in which only some days are of the category (kcal/d).

    The mean over days is plain arithmetic; the error is that of one day's equation.
    """
    if not 0 <= days_per_week <= DAYS_PER_WEEK:
        raise ValueError(f"days_per_week must be 0 to {DAYS_PER_WEEK:g}, is {days_per_week:g}")
    share = days_per_week / DAYS_PER_WEEK
    of_one, of_other = (
        eer_2023(sex, age_years, height_cm, weight_kg, each) for each in (category, other_category)
    )
    return around(share * of_one + (1 - share) * of_other, rmse_kcal_per_day)


def session_energy_gross_kcal(weight_kg: float, minutes: float, met: float) -> float:
    """Return all energy spent in one session, in kcal (1 MET = 1 kcal per kg and hour).

    Herrmann et al. 2024, J Sport Health Sci 13:6 (convention and codes second-hand). Includes
    what lying down would have cost.
    """
    require_not_negative("minutes", minutes)
    require_positive("met", met)
    return met * require_weight_kg(weight_kg) * minutes / MINUTES_PER_HOUR


@calculator(
    "training.session_energy_net", "kcal/d", "Herrmann 2024, J Sport Health Sci 13:6", SECOND_HAND
)
def session_energy_net(
    weight_kg: Kg, sessions_per_week: SessionsPerWeek, minutes: Minutes, met: Ratio
) -> float:
    """Return the energy of training above rest, spread over the week, in kcal/d.

    (MET - 1) x weight x hours: only this may be added to a figure that already holds resting
    energy. Herrmann et al. 2024, J Sport Health Sci 13:6 (second-hand).
    """
    require_not_negative("sessions_per_week", sessions_per_week)
    gross = session_energy_gross_kcal(weight_kg, minutes, met)
    rest = weight_kg * minutes / MINUTES_PER_HOUR
    return sessions_per_week * max(gross - rest, 0.0) / DAYS_PER_WEEK


@calculator("energy.surplus", "kcal/d", COMMON_PRACTICE)
def surplus(
    maintenance_kcal_per_day: KcalPerDay,
    percent: Percent,
    low_clamp_kcal: KcalPerDay,
    high_clamp_kcal: KcalPerDay,
) -> Estimate:
    """Return a percentage of maintenance held between two clamps (kcal/d).

    The ends of the estimate are the clamps: the room within which the coach steers.
    """
    require_positive("maintenance_kcal_per_day", maintenance_kcal_per_day)
    require_not_negative("percent", percent)
    require_ordered("low_clamp_kcal", low_clamp_kcal, "high_clamp_kcal", high_clamp_kcal)
    wanted = maintenance_kcal_per_day * percent / 100.0
    held = min(max(wanted, low_clamp_kcal), high_clamp_kcal)
    return Estimate(held, low_clamp_kcal, high_clamp_kcal)


def deficit(
    maintenance_kcal_per_day: float, percent: float, cap_kcal: float, floor_kcal_per_day: float
) -> float:
    """Return the size of an energy deficit in kcal/d, never negative.

    The smallest of: the percentage of maintenance, the cap, and what is left above the floor.
    It is 0 when maintenance already lies at the floor.
    """
    require_positive("maintenance_kcal_per_day", maintenance_kcal_per_day)
    require_percent("percent", percent)
    require_not_negative("cap_kcal", cap_kcal)
    above_floor = maintenance_kcal_per_day - floor_kcal_per_day
    return max(min(maintenance_kcal_per_day * percent / 100.0, cap_kcal, above_floor), 0.0)


@calculator("energy.deficit_as_surplus", "kcal/d", COMMON_PRACTICE)
def deficit_as_surplus(
    maintenance_kcal_per_day: KcalPerDay,
    percent: Percent,
    cap_kcal: KcalPerDay,
    floor_kcal_per_day: KcalPerDay,
) -> float:
    """Return :func:`deficit` as a negative surplus (kcal/d), the sign the plan uses."""
    size = deficit(maintenance_kcal_per_day, percent, cap_kcal, floor_kcal_per_day)
    return -size if size else 0.0


@calculator("energy.weight_change_per_week", "kg/wk")
def weight_change_kg_per_week(weight_kg: Kg, percent_per_week: PercentPerWeek) -> float:
    """Return a weekly rate in kg from a rate in percent of body weight (sign kept)."""
    return require_weight_kg(weight_kg) * percent_per_week / 100.0
