"""How long sets, exercises and sessions take."""

from __future__ import annotations

import math

from assistant.model.documents.exercises import Exercise
from assistant.model.documents.week_settings import Settings
from assistant.programme.pool import Candidate


def set_seconds(exercise: Exercise, amount: float, settings: Settings) -> float:
    """Seconds of one working set with its rest; `amount` is repetitions, or seconds of a hold."""
    clock = settings.clock
    timed = exercise.measure == "seconds"
    work = amount if timed else amount * clock.seconds_per_repetition
    if exercise.unilateral:
        work = 2 * work + clock.change_sides_s
    return work + exercise.rest_s


def ramp_sets(exercise: Exercise, kind: str, zone: str, settings: Settings) -> int:
    """How many sets lead up to a heavy-zone lift or a loaded bar, with time of their own."""
    clock = settings.clock
    if zone == "heavy":
        return clock.ramp_sets_heavy_zone
    free_bar = any(piece in clock.free_bar_equipment for piece in exercise.equipment)
    return clock.ramp_sets_free_bar if free_bar and kind == "compound" else 0


def planned_range(exercise: Exercise, zone: str, settings: Settings) -> tuple[int, int]:
    """The printed range of repetitions, or of seconds for a hold."""
    if exercise.measure == "seconds":
        return settings.zones.hold_s
    if exercise.repetitions is not None:
        low, high = exercise.repetitions
        return low, high
    return settings.zones.repetitions[zone]


def range_of(candidate: Candidate, settings: Settings) -> tuple[int, int]:
    """The range a candidate is planned in: the one said by hand, else the printed one of its zone."""
    return candidate.by_hand or planned_range(candidate.exercise, candidate.zone, settings)


def exercise_seconds(candidate: Candidate, sets: int, settings: Settings) -> int:
    """Seconds of an exercise in a session: set-up, ramp sets, working sets with rest, rounded up.

    The clock takes the middle of the range.
    """
    exercise = candidate.exercise
    low, high = range_of(candidate, settings)
    working = sets * set_seconds(exercise, (low + high) / 2, settings)
    ramps = ramp_sets(exercise, candidate.kind, candidate.zone, settings)
    return math.ceil(working + exercise.setup_s + ramps * settings.clock.ramp_set_s)


def warm_up_seconds(day_type: str, minutes: int, settings: Settings) -> int:
    """Seconds of the warm-up before the lifts; short sessions take the short one."""
    clock = settings.clock
    short = day_type == "short" or minutes <= clock.short_warm_up_up_to_minutes
    return clock.short_warm_up_s if short else clock.warm_up_s
