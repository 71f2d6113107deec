"""All measurements of one record on one day, and the facts of the next run they become."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from assistant.calculate.estimate import Estimate
from assistant.measure.agreed import Agreed, agreed_on
from assistant.measure.habits import Habits, habits
from assistant.measure.lifts import StrengthTrend, strength_trend
from assistant.measure.settings import Person, Settings
from assistant.measure.signs import JointPain, LowMood, joint_pains, low_mood, signs_felt
from assistant.measure.tape import GirthChange, girth_changes
from assistant.measure.trend import (
    DAYS_PER_WEEK,
    FoodTrend,
    WeightTrend,
    food_trend,
    weight_trend,
    whole_weeks,
)
from assistant.measure.weight_safety import WeightSafety, weight_safety
from assistant.model.history import History, Sign
from assistant.model.values import FactKey, Value, fact_key

Ranges = Mapping[FactKey, tuple[float, float]]


@dataclass(frozen=True)
class Findings:
    """What a record tells on a day.

    weight_safety, pains, mood and felt are for safety: no agreement restarts them and silence closes none.
    first_day: first day of the record. steer_on: first day on which the weight rate is long enough to
    steer by, if weighing goes on. open_referrals: roles of those still to be seen. review_on: the day
    agreed for the next look.
    """

    on: dt.date
    first_day: dt.date
    agreed: Agreed
    weeks: int
    steer_on: dt.date
    weight: WeightTrend | None
    food: FoodTrend | None
    strength: StrengthTrend
    girths: tuple[GirthChange, ...]
    girths_in_phase: tuple[GirthChange, ...]
    habits: Habits
    weight_safety: WeightSafety = field(default_factory=WeightSafety)
    pains: Mapping[str, JointPain] = field(default_factory=dict)
    mood: LowMood | None = None
    felt: tuple[Sign, ...] = ()
    open_referrals: tuple[str, ...] = ()
    review_on: dt.date | None = None

    @property
    def values(self) -> Mapping[FactKey, Value]:
        """The findings as facts of the next run (`record.*`); what is not known is left out."""
        return {key: value for key, value in _values(self).items() if value is not None}

    @property
    def ranges(self) -> Ranges:
        """The 90 % intervals of the facts that have one."""
        return {
            key: (span.low, span.high) for key, span in _spans(self).items() if span is not None
        }


def measure(history: History, on: dt.date, person: Person, settings: Settings) -> Findings | None:
    """Return what a record tells up to and including a day; None where it holds nothing yet."""
    first = _first_day(history, on)
    if first is None:
        return None
    agreed = agreed_on(history.agreements, on, settings.large_food_change)
    phase_start = agreed.phase_start(first, settings)
    food_start = max(phase_start, agreed.log_since or phase_start)
    rate_start = agreed.rate_start(first, settings)
    rate_weeks = agreed.rate_weeks(first, on, settings)
    food_weeks = whole_weeks(food_start, on, settings.food_longest_weeks)
    lifts_since = max(first, on - dt.timedelta(weeks=int(settings.lift_longest_weeks)))
    weight = weight_trend(history, rate_weeks, settings) if rate_weeks else None
    food = food_trend(history, food_weeks, person, settings) if food_weeks else None
    return Findings(
        on=on,
        first_day=first,
        agreed=agreed,
        weeks=rate_weeks.weeks if rate_weeks else 0,
        steer_on=rate_start + dt.timedelta(days=int(settings.steer_weeks) * DAYS_PER_WEEK - 1),
        weight=weight,
        food=food if food is not None and _is_enough(food, settings) else None,
        strength=strength_trend(history, lifts_since, on, settings),
        girths=girth_changes(history.girths, first, on, settings),
        girths_in_phase=girth_changes(history.girths, agreed.phase_since or first, on, settings),
        habits=habits(history, on, settings),
        weight_safety=weight_safety(history, on, settings, person.weight_answered_on),
        pains=joint_pains(history, on, settings),
        mood=low_mood(history, on, settings),
        felt=signs_felt(history, on),
        open_referrals=tuple(each.role for each in history.referrals),
        review_on=history.review_on,
    )


def _is_enough(food: FoodTrend, settings: Settings) -> bool:
    return (
        food.window.weeks >= settings.show_weeks
        and food.days_logged_percent >= settings.logged_percent
        and food.weighings >= settings.weighings_per_week * food.window.weeks
    )


def _first_day(history: History, on: dt.date) -> dt.date | None:
    series = (history.weighings, history.eating, history.top_sets, history.sessions, history.notes,
              history.girths, history.pains, history.agreements, history.signs)  # fmt: skip
    return min((row.day for rows in series for row in rows if row.day <= on), default=None)


def _values(found: Findings) -> dict[FactKey, Value | None]:
    weight, food, strength = found.weight, found.food, found.strength
    pooled, agreed, habit = strength.rate_percent_per_week, found.agreed, found.habits
    weight_safety, mood = found.weight_safety, found.mood
    values: dict[FactKey, Value | None] = {
        "record.weeks": float(found.weeks),
        "record.steer_on": found.steer_on.isoformat(),
        "record.review_on": found.review_on.isoformat() if found.review_on else None,
        "record.weeks_to_look": (found.review_on - found.on).days / DAYS_PER_WEEK
        if found.review_on
        else None,
        "record.weighings_per_week": weight.weighings / weight.window.weeks if weight else None,
        "record.weight_rate_percent_per_week": weight.rate_percent_per_week.value
        if weight
        else None,
        "record.fastest_loss_percent_per_week": weight_safety.loss.value
        if weight_safety.loss
        else None,
        "record.fastest_gain_percent_per_week": weight_safety.gain.value
        if weight_safety.gain
        else None,
        "record.last_weight_kg": weight_safety.last_weight_kg,
        "record.loss_each_week_kg": weight_safety.loss_each_week_kg,
        "record.sudden_rise_kg": weight_safety.sudden_rise_kg,
        "client.weight_kg": weight_safety.weight_kg,
        "record.food_weeks": float(food.window.weeks) if food else None,
        "record.intake_kcal_per_day": food.mean_intake_kcal_per_day if food else None,
        "record.maintenance_kcal_per_day": food.maintenance_kcal_per_day if food else None,
        "record.energy_target_kcal_per_day": agreed.energy_target_kcal_per_day,
        "record.energy_aimed_kcal_per_day": agreed.aimed_kcal_per_day,
        "record.food_agreed_on": agreed.food_agreed_on.isoformat()
        if agreed.food_agreed_on
        else None,
        "record.maintenance_kept_kcal_per_day": agreed.maintenance_kcal_per_day,
        "record.weeks_since_maintenance_kept": _weeks_since(agreed.maintenance_since, found.on),
        "record.phase": agreed.phase,
        "record.hold_agreed": agreed.holds or None,
        "record.weeks_in_phase": _weeks_since(agreed.phase_since, found.on),
        "record.weeks_since_food_change": _weeks_since(agreed.food_since, found.on),
        "record.weeks_since_log_mended": _weeks_since(agreed.log_since, found.on),
        "record.weeks_in_block": _weeks_since(agreed.block_since, found.on),
        "record.sets_steps": float(agreed.sets_steps) if agreed.sets_steps else None,
        "record.weeks_since_sets_change": _weeks_since(agreed.sets_since, found.on),
        "record.weeks_since_easier_week": _weeks_since(agreed.easier_since, found.on),
        "record.strength_change_percent_per_week": pooled.value if pooled else None,
        "record.strength_lately_percent_per_week": strength.lately_percent_per_week.value
        if strength.lately_percent_per_week
        else None,
        "record.strength_weeks": strength.weeks if pooled else None,
        "record.strength_exposures": float(strength.exposures) if pooled else None,
        "record.lifts_down": float(strength.lifts_down) if strength.lifts else None,
        "record.sessions_planned": float(habit.sessions_planned),
        "record.sessions_done_percent": habit.sessions_done_percent,
        "record.sessions_untold": float(habit.sessions_untold) or None,
        "record.weeks_away": None if habit.weeks_away is None else float(habit.weeks_away),
        "record.days_silent": None if habit.days_silent is None else float(habit.days_silent),
        "record.nights_noted": float(habit.nights_noted),
        "record.sleep_hours": habit.sleep_hours,
        "record.soreness_1_to_5": habit.soreness_1_to_5,
        "record.mood_1_to_5": habit.mood_1_to_5,
        "record.low_mood": mood.stays if mood else None,
        "record.low_mood_percent": mood.percent if mood else None,
        "record.low_mood_days": float(mood.days) if mood else None,
        "record.signs_felt": found.felt,
        "record.open_referrals": found.open_referrals,
        "record.pain_max_0_to_10": None
        if habit.pain_max_0_to_10 is None
        else float(habit.pain_max_0_to_10),
        "record.pain_weeks": float(habit.pain_weeks),
        "record.days_since_period": None
        if habit.days_since_period is None
        else float(habit.days_since_period),
    }
    for change in found.girths:
        values[fact_key("record.girth_change_cm", change.site)] = change.change_cm.value
    for change in found.girths_in_phase:
        values[fact_key("record.girth_change_in_phase_cm", change.site)] = change.change_cm.value
    for joint, pain in found.pains.items():
        values[fact_key("record.pain_now_0_to_10", joint)] = float(pain.now)
        values[fact_key("record.pain_unasked_0_to_10", joint)] = float(pain.unasked)
    return values


def _spans(found: Findings) -> dict[FactKey, Estimate | None]:
    spans: dict[FactKey, Estimate | None] = {
        "record.weight_rate_percent_per_week": found.weight.rate_percent_per_week
        if found.weight
        else None,
        "record.maintenance_kcal_per_day": found.food.interval if found.food else None,
        "record.strength_change_percent_per_week": found.strength.rate_percent_per_week,
        "record.strength_lately_percent_per_week": found.strength.lately_percent_per_week,
    }
    for change in found.girths:
        spans[fact_key("record.girth_change_cm", change.site)] = change.change_cm
    for change in found.girths_in_phase:
        spans[fact_key("record.girth_change_in_phase_cm", change.site)] = change.change_cm
    return spans


def _weeks_since(day: dt.date | None, on: dt.date) -> float | None:
    return None if day is None else ((on - day).days + 1) // DAYS_PER_WEEK
