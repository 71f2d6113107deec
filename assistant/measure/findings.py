"""All measurements of one record on one day, and the facts of the next run they become."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.calculate.estimate import Estimate
from assistant.measure.habits import Habits, habits
from assistant.measure.lately import fastest_loss, weight_now
from assistant.measure.lifts import StrengthTrend, strength_trend
from assistant.measure.settings import Person, Settings
from assistant.measure.tape import GirthChange, girth_changes
from assistant.measure.trend import (
    DAYS_PER_WEEK,
    FoodTrend,
    WeightTrend,
    food_trend,
    weight_trend,
    whole_weeks,
)
from assistant.model.history import Agreement, History
from assistant.model.values import FactKey, Value, fact_key

Ranges = Mapping[FactKey, tuple[float, float]]


@dataclass(frozen=True)
class Agreed:
    """What is agreed on a day, and since when. None where nothing says.

    turned: the last change of phase, or of food by so much that body water needs days to settle.
    """

    energy_target_kcal_per_day: float | None
    food_since: dt.date | None
    phase: str | None
    phase_since: dt.date | None
    block_since: dt.date | None
    sets_since: dt.date | None
    easier_since: dt.date | None
    log_since: dt.date | None
    turned: dt.date | None


@dataclass(frozen=True)
class Findings:
    """What a record tells on a day.

    fastest_loss_percent_per_week and weight_now_kg are for safety: no agreement restarts them, and
    weight measured lately takes the place of the older answer. first_day: first day of the record. steer_on: first day on which the weight rate is long
    enough to steer by, if weighing goes on.
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
    habits: Habits
    fastest_loss_percent_per_week: float | None = None
    weight_now_kg: float | None = None

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
    agreed = _agreed(history.agreements, on, settings.large_food_change)
    settled = dt.timedelta(days=int(settings.settle_days))
    phase_start = first
    if agreed.turned is not None and agreed.turned > first:
        phase_start = agreed.turned + settled
    food_start = max(phase_start, agreed.log_since or phase_start)
    rate_start = max(phase_start, agreed.food_since or phase_start)
    rate_weeks = whole_weeks(rate_start, on, settings.longest_weeks)
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
        strength=strength_trend(history.top_sets, lifts_since, on, settings),
        girths=girth_changes(history.girths, first, on, settings),
        habits=habits(history, on, settings),
        fastest_loss_percent_per_week=fastest_loss(history, on, settings),
        weight_now_kg=weight_now(history, on, settings),
    )


def _is_enough(food: FoodTrend, settings: Settings) -> bool:
    return (
        food.window.weeks >= settings.show_weeks
        and food.days_logged_percent >= settings.logged_percent
        and food.weighings >= settings.weighings_per_week * food.window.weeks
    )


def _first_day(history: History, on: dt.date) -> dt.date | None:
    series = (history.weighings, history.eating, history.top_sets, history.sessions, history.notes,
              history.girths, history.pains, history.agreements)  # fmt: skip
    return min((row.day for rows in series for row in rows if row.day <= on), default=None)


def _agreed(agreements: tuple[Agreement, ...], on: dt.date, large_kcal: float) -> Agreed:
    target: float | None = None
    phase: str | None = None
    since: dict[str, dt.date] = {}
    for row in sorted(agreements, key=lambda one: one.day):
        if row.day > on:
            break
        new = row.energy_target_kcal_per_day
        if new not in {None, target}:
            if target is not None and new is not None and abs(new - target) >= large_kcal:
                since["turned"] = row.day
            target, since["food"] = new, row.day
        if row.phase not in {None, phase}:
            phase = row.phase
            since["phase"] = since["turned"] = row.day
        for name in ("block_starts", "sets_changed", "easier_week", "log_mended"):
            if getattr(row, name):
                since[name] = row.day
    return Agreed(
        energy_target_kcal_per_day=target,
        food_since=since.get("food"),
        phase=phase,
        phase_since=since.get("phase"),
        block_since=since.get("block_starts"),
        sets_since=since.get("sets_changed"),
        easier_since=since.get("easier_week"),
        log_since=since.get("log_mended"),
        turned=since.get("turned"),
    )


def _values(found: Findings) -> dict[FactKey, Value | None]:
    weight, food, strength = found.weight, found.food, found.strength
    pooled, agreed, habit = strength.rate_percent_per_week, found.agreed, found.habits
    values: dict[FactKey, Value | None] = {
        "record.weeks": float(found.weeks),
        "record.steer_on": found.steer_on.isoformat(),
        "record.weighings_per_week": weight.weighings / weight.window.weeks if weight else None,
        "record.weight_rate_percent_per_week": weight.rate_percent_per_week.value
        if weight
        else None,
        "record.fastest_loss_percent_per_week": found.fastest_loss_percent_per_week,
        "client.weight_kg": found.weight_now_kg,
        "record.food_weeks": float(food.window.weeks) if food else None,
        "record.intake_kcal_per_day": food.mean_intake_kcal_per_day if food else None,
        "record.maintenance_kcal_per_day": food.maintenance_kcal_per_day if food else None,
        "record.energy_target_kcal_per_day": agreed.energy_target_kcal_per_day,
        "record.phase": agreed.phase,
        "record.weeks_in_phase": _weeks_since(agreed.phase_since, found.on),
        "record.weeks_since_food_change": _weeks_since(agreed.food_since, found.on),
        "record.weeks_in_block": _weeks_since(agreed.block_since, found.on),
        "record.weeks_since_sets_change": _weeks_since(agreed.sets_since, found.on),
        "record.weeks_since_easier_week": _weeks_since(agreed.easier_since, found.on),
        "record.strength_change_percent_per_week": pooled.value if pooled else None,
        "record.strength_weeks": strength.weeks if pooled else None,
        "record.strength_exposures": float(strength.exposures) if pooled else None,
        "record.lifts_down": float(strength.lifts_down) if strength.lifts else None,
        "record.sessions_planned": float(habit.sessions_planned),
        "record.sessions_done_percent": habit.sessions_done_percent,
        "record.nights_noted": float(habit.nights_noted),
        "record.sleep_hours": habit.sleep_hours,
        "record.soreness_1_to_5": habit.soreness_1_to_5,
        "record.mood_1_to_5": habit.mood_1_to_5,
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
    return values


def _spans(found: Findings) -> dict[FactKey, Estimate | None]:
    spans: dict[FactKey, Estimate | None] = {
        "record.weight_rate_percent_per_week": found.weight.rate_percent_per_week
        if found.weight
        else None,
        "record.maintenance_kcal_per_day": found.food.interval if found.food else None,
        "record.strength_change_percent_per_week": found.strength.rate_percent_per_week,
    }
    for change in found.girths:
        spans[fact_key("record.girth_change_cm", change.site)] = change.change_cm
    return spans


def _weeks_since(day: dt.date | None, on: dt.date) -> float | None:
    return None if day is None else ((on - day).days + 1) // DAYS_PER_WEEK
