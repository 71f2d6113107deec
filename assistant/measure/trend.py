"""Weight over whole weeks: its rate with an interval, and maintenance from the food log beside it."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from assistant.calculate.estimate import Estimate, around
from assistant.calculate.measured import (
    NINETY,
    energy_density_of_gain,
    energy_density_of_loss,
    intake_standard_error,
    maintenance_standard_error,
    measured_maintenance,
)
from assistant.measure.regression import Fit, fit
from assistant.measure.settings import Person, Settings
from assistant.model.history import DayOfEating, History, Weighing

DAYS_PER_WEEK = 7
# The mean of the shortest and longest cycle that is still read as a monthly rhythm (judgement).
_CYCLE_DAYS = (21, 40)
_USUAL_CYCLE_DAYS = 28.0
_LEAST_WEIGHINGS = 5


def ninety(value: float, standard_error: float) -> Estimate:
    """Return the 90 % interval of a value with normal error."""
    return around(value, NINETY * standard_error)


@dataclass(frozen=True)
class Window:
    """Whole weeks up to and including a last day: `first` is the first day of them."""

    first: dt.date
    last: dt.date

    @property
    def weeks(self) -> int:
        """Number of whole weeks."""
        return ((self.last - self.first).days + 1) // DAYS_PER_WEEK

    def holds(self, day: dt.date) -> bool:
        """Tell whether a day belongs to the weeks."""
        return self.first <= day <= self.last


def whole_weeks(start: dt.date, last: dt.date, longest_weeks: float) -> Window | None:
    """Return the whole weeks from a start up to a last day, at most so many; None without any."""
    weeks = min(((last - start).days + 1) // DAYS_PER_WEEK, int(longest_weeks))
    if weeks < 1:
        return None
    return Window(last - dt.timedelta(days=weeks * DAYS_PER_WEEK - 1), last)


@dataclass(frozen=True)
class WeightTrend:
    """Rate of body weight over whole weeks, kg a week, 90 % interval.

    noise_kg: scatter of one day. mean_kg: mean weight of the window.
    """

    window: Window
    weighings: int
    rate_kg_per_week: Estimate
    noise_kg: float
    mean_kg: float

    @property
    def rate_percent_per_week(self) -> Estimate:
        """The rate in % of the mean weight a week."""
        scale = 100.0 / self.mean_kg
        rate = self.rate_kg_per_week
        return Estimate(rate.value * scale, rate.low * scale, rate.high * scale)


def weight_trend(history: History, window: Window, settings: Settings) -> WeightTrend | None:
    """Return the weight trend of a window; None with too few weighings to draw a line."""
    weighings = _mean_by_day(history.weighings, window)
    line = _line(weighings, [0.0] * len(weighings), history, window, settings)
    if line is None:
        return None
    mean = fmean(weight for _, weight in weighings)
    rate = ninety(line.coefficients[1] * DAYS_PER_WEEK, line.error(1) * DAYS_PER_WEEK)
    return WeightTrend(window, len(weighings), rate, line.noise, mean)


@dataclass(frozen=True)
class FoodTrend:
    """Maintenance measured from food log and weights of whole weeks, in the log's own units.

    standard_error_kcal: of the maintenance alone, before any prior.
    """

    window: Window
    days_logged: int
    weighings: int
    mean_intake_kcal_per_day: float
    maintenance_kcal_per_day: float
    standard_error_kcal: float

    @property
    def interval(self) -> Estimate:
        """The 90 % interval of measured maintenance."""
        return ninety(self.maintenance_kcal_per_day, self.standard_error_kcal)

    @property
    def days_logged_percent(self) -> float:
        """Share of the days with a food log."""
        return 100.0 * self.days_logged / (self.window.weeks * DAYS_PER_WEEK)


def food_trend(
    history: History, window: Window, person: Person, settings: Settings
) -> FoodTrend | None:
    """Return measured maintenance; None without a food log or with too few weighings.

    What was eaten moves the line day by day, so food that changed inside the window does no harm.
    """
    eaten = _eaten_by_day(history.eating, window)
    weighings = _mean_by_day(history.weighings, window)
    if not eaten or len(weighings) < _LEAST_WEIGHINGS:
        return None
    mean_intake = fmean(eaten.values())
    days = window.weeks * DAYS_PER_WEEK
    slope = _slope_of_balance(weighings, eaten, mean_intake, 7000.0, history, window, settings)
    if slope is None:
        return None
    density, density_error = energy_density(slope[0], person, settings)
    slope = _slope_of_balance(weighings, eaten, mean_intake, density, history, window, settings)
    assert slope is not None  # the same days as before
    rate, rate_error = slope
    # Eating costs a tenth of what is eaten, and logs read a tenth or more low: in the log's own
    # units the two about cancel (measured on simulated clients), so neither is corrected for.
    balance_error = maintenance_standard_error(
        intake_standard_error(mean_intake, len(eaten), days, settings.intake_variation),
        rate, rate_error, density, density_error,
    )  # fmt: skip
    error = math.hypot(balance_error, settings.wander_kcal)
    maintenance = measured_maintenance(mean_intake, rate, density)
    return FoodTrend(window, len(eaten), len(weighings), mean_intake, maintenance, error)


def energy_density(
    rate_kg_per_day: float, person: Person, settings: Settings
) -> tuple[float, float]:
    """Return the energy of a kilogram of change and its standard error, in kcal/kg."""
    if rate_kg_per_day >= 0.0 or person.fat_mass_kg is None:
        share, spread = settings.lean_share_gain, settings.lean_share_error
        density = energy_density_of_gain(share)
        error = abs(energy_density_of_gain(min(share + spread, 1.0)) - density)
        return density, error
    density = energy_density_of_loss(person.fat_mass_kg)
    return density, density * settings.density_error_percent / 100.0


def _slope_of_balance(
    weighings: Sequence[tuple[int, float]],
    eaten: dict[int, float],
    mean_intake: float,
    density: float,
    history: History,
    window: Window,
    settings: Settings,
) -> tuple[float, float] | None:
    """Slope of weight after taking out what day-to-day differences of food explain."""
    stored, total = [], 0.0
    for day in range(window.weeks * DAYS_PER_WEEK):
        stored.append(total)
        total += (eaten.get(day, mean_intake) - mean_intake) / density
    line = _line(weighings, [stored[day] for day, _ in weighings], history, window, settings)
    return None if line is None else (line.coefficients[1], line.error(1))


def _line(
    weighings: Sequence[tuple[int, float]],
    offsets: Sequence[float],
    history: History,
    window: Window,
    settings: Settings,
) -> Fit | None:
    """Fit level, slope and, where periods are noted, a monthly rhythm."""
    if len(weighings) < _LEAST_WEIGHINGS or weighings[-1][0] - weighings[0][0] < DAYS_PER_WEEK - 1:
        return None
    days = [day for day, _ in weighings]
    cycle = _cycle(history, window)
    terms = [[1.0, day - fmean(days), *_rhythm(day, cycle)] for day in days]
    level = fmean(weight for _, weight in weighings)
    values = [
        weight - level - offset for (_, weight), offset in zip(weighings, offsets, strict=True)
    ]
    spread = [math.inf, math.inf, settings.cycle_amplitude_kg, settings.cycle_amplitude_kg]
    assumed = settings.weight_noise_percent * level / 100.0
    prior = (assumed, settings.noise_prior_days)
    return fit(days, terms, values, settings.autocorrelation, prior, spread[: len(terms[0])])


def _cycle(history: History, window: Window) -> tuple[float, float] | None:
    """Return day of the last period in window days, and length of the cycle; None if none noted."""
    starts = sorted({(note.day - window.first).days for note in history.notes if note.cycle_start})
    if not starts:
        return None
    shortest, longest = _CYCLE_DAYS
    gaps = [b - a for a, b in pairwise(starts) if shortest <= b - a <= longest]
    return float(starts[-1]), fmean(gaps) if gaps else _USUAL_CYCLE_DAYS


def _rhythm(day: int, cycle: tuple[float, float] | None) -> list[float]:
    if cycle is None:
        return []
    start, length = cycle
    angle = 2.0 * math.pi * (day - start) / length
    return [math.cos(angle), math.sin(angle)]


def _mean_by_day(weighings: Sequence[Weighing], window: Window) -> list[tuple[int, float]]:
    by_day: dict[int, list[float]] = {}
    for row in weighings:
        if window.holds(row.day):
            by_day.setdefault((row.day - window.first).days, []).append(row.weight_kg)
    return [(day, fmean(weights)) for day, weights in sorted(by_day.items())]


def _eaten_by_day(eating: Sequence[DayOfEating], window: Window) -> dict[int, float]:
    by_day: dict[int, float] = {}
    for row in eating:
        if window.holds(row.day):
            day = (row.day - window.first).days
            by_day[day] = by_day.get(day, 0.0) + row.energy_kcal
    return by_day
