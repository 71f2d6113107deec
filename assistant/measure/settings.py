"""The numbers a measurement leans on; each comes from a parameter of the rule book."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, fields

FAMILY = "measure."
# Lines that the rules read too, so that there is one of each.
_SHARED = {
    "low_mood": "review.low_mood",
    "loss_trend_weeks": "screen.loss_trend_weeks",
    "gain_trend_weeks": "screen.gain_trend_weeks",
}


def parameter_of(setting: str) -> str:
    """Return the id of the parameter that a setting is read from."""
    return _SHARED.get(setting, FAMILY + setting)


@dataclass(frozen=True)
class Settings:
    """Settings of the measurements, named like their parameters (`measure.<name>`, unless shared).

    weight_noise_percent: day-to-day standard deviation of body weight, % of body weight.
    autocorrelation: of that noise from one day to the next. noise_prior_days: how many days of
    own noise weigh as much as the assumed one. cycle_amplitude_kg: usual size of the monthly
    rhythm of water. settle_days: days dropped after a change of phase. large_food_change:
    change of agreed food (kcal/d) after which days are dropped as well. longest_weeks: weeks
    looked back for the weight rate; food_longest_weeks: the same for maintenance. show_weeks,
    steer_weeks: whole weeks before a figure is shown, and before it steers. logged_percent,
    weighings_per_week: least share of days logged and least weighings. intake_variation: day to
    day, coefficient of variation. lean_share_gain, lean_share_error: part of gained weight that
    is lean. density_error_percent: error of the energy of a kilogram lost. wander_kcal: how far
    maintenance wanders within weeks and with the make-up of tissue. lift_noise_percent,
    lift_noise_floor_percent: day-to-day scatter of the estimated maximum and the least assumed.
    lift_reserve_error_percent: scatter added for each repetition left in reserve.
    lift_error_factor: widening for autocorrelation. lift_exposures, lift_weeks: least exposures
    and span of a lift that counts. lift_longest_weeks: weeks looked back for lifts;
    lift_recent_weeks the same for a fall. lift_skip: first exposures dropped. lift_most_reps:
    repetitions up to which a set counts; lift_most_reserve the same for reserve.
    lift_drop_percent: fall of a lift in one week that counts as down, for sets that tell most. tape_error_percent: technical error of one girth. habit_weeks: weeks looked
    back for sessions. note_days: days looked back for nights, soreness, mood and pain.
    pain_counts: pain (of ten) from which a week counts as painful. safety_weeks, safety_looks:
    weeks over which loss is watched whatever was agreed, and how long it stays in view.
    lately_days, lately_weighings: days and least weighings of the weight that stands now.
    sparse_weighings, sparse_days: the same where somebody weighs seldom. sparse_span_percent: share
    of the watched weeks that single weighings must span. longest_gap_weeks: longest gap between
    weighings over which loss a week is read.
    rise_days: days within which a rise of weight is sudden. low_mood: mood up to which a day is low.
    low_mood_percent, low_mood_days: share of low days, and days they span, that count as low for
    two weeks. loss_trend_weeks, gain_trend_weeks: least weeks behind a pace that is too fast.
    """

    weight_noise_percent: float
    autocorrelation: float
    noise_prior_days: float
    cycle_amplitude_kg: float
    settle_days: float
    large_food_change: float
    longest_weeks: float
    food_longest_weeks: float
    show_weeks: float
    steer_weeks: float
    logged_percent: float
    weighings_per_week: float
    intake_variation: float
    lean_share_gain: float
    lean_share_error: float
    density_error_percent: float
    wander_kcal: float
    lift_noise_percent: float
    lift_noise_floor_percent: float
    lift_reserve_error_percent: float
    lift_error_factor: float
    lift_exposures: float
    lift_weeks: float
    lift_longest_weeks: float
    lift_recent_weeks: float
    lift_skip: float
    lift_most_reps: float
    lift_most_reserve: float
    lift_drop_percent: float
    tape_error_percent: float
    habit_weeks: float
    note_days: float
    pain_counts: float
    safety_weeks: float
    safety_looks: float
    lately_days: float
    lately_weighings: float
    sparse_weighings: float
    sparse_days: float
    sparse_span_percent: float
    longest_gap_weeks: float
    rise_days: float
    low_mood: float
    low_mood_percent: float
    low_mood_days: float
    loss_trend_weeks: float
    gain_trend_weeks: float

    @classmethod
    def names(cls) -> tuple[str, ...]:
        """Return the parameter ids the settings are read from."""
        return tuple(parameter_of(field.name) for field in fields(cls))

    @classmethod
    def from_parameters(cls, values: Mapping[str, float]) -> "Settings":
        """Return settings from parameter values by id. Raises KeyError naming a missing one."""
        return cls(**{field.name: values[parameter_of(field.name)] for field in fields(cls)})


@dataclass(frozen=True)
class Person:
    """What a measurement must know about the person: weight and fat mass at intake, in kg.

    fat_mass_kg: None where body fat is not known. weight_answered_on: the day the weight was
    answered; None where it was not.
    """

    weight_kg: float
    fat_mass_kg: float | None = None
    weight_answered_on: dt.date | None = None
