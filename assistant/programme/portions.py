"""What a day admits and holds, and what a week asks: exercises, lines, floors, public groups."""

from __future__ import annotations

from assistant.model.documents.exercises import HALF_CREDIT, Exercise
from assistant.model.documents.week_settings import MuscleGroup, SessionSize, Settings
from assistant.programme.days import Day, Layout
from assistant.programme.points import HIGH
from assistant.programme.pool import Candidate, Pool
from assistant.programme.request import ProgrammeRequest


def allowed_on(
    candidate: Candidate, day: Day, request: ProgrammeRequest, settings: Settings
) -> bool:
    """True if the type of the day admits the exercise, or a coach put it there by hand."""
    by_hand = (candidate.exercise.id, day.id) in request.hand.stands
    return by_hand or suits_the_day(candidate, day, request, settings)


def suits_the_day(
    candidate: Candidate, day: Day, request: ProgrammeRequest, settings: Settings
) -> bool:
    """True if the exercise is one for the type of the day, whatever a coach said by hand."""
    exercise = candidate.exercise
    if candidate.region not in settings.week.day_regions[day.type]:
        return False
    pinned = any(
        (pin.exercise, pin.day) == (exercise.id, day.id) and not pin.by_hand
        for pin in request.pinned
    )
    if day.type == "priority":
        aims = request.priority_muscles or tuple(request.target_sets)
        return pinned or any(exercise.credits.get(muscle, 0.0) >= HALF_CREDIT for muscle in aims)
    if day.type != "short":
        return True
    light = (
        exercise.axial_load != HIGH and exercise.skill <= settings.limits.short_session_max_skill
    )
    if not light:
        return False
    if not request.priority_muscles:
        return pinned or candidate.kind != "compound"
    return pinned or any(muscle in exercise.primary for muscle in request.priority_muscles)


def least_sets(candidate: Candidate, day: Day, settings: Settings) -> int:
    """The least sets an exercise is worth on a day: big lifts need more unless time is short."""
    limits = settings.limits
    if candidate.kind == "compound" and day.minutes > limits.two_set_compounds_up_to_minutes:
        return limits.sets_per_compound_min
    return limits.sets_per_exercise_min


def reachable(
    pool: Pool, layout: Layout, request: ProgrammeRequest, settings: Settings
) -> frozenset[str]:
    """Muscles that some exercise worth solving trains with at least half credit on some day."""
    able = [
        candidate.exercise.credits
        for candidate in pool.chosen
        if any(allowed_on(candidate, day, request, settings) for day in layout.days)
    ]
    return frozenset(
        muscle
        for muscle in request.target_sets
        if any(earned.get(muscle, 0.0) >= HALF_CREDIT for earned in able)
    )


def session_size(day: Day, settings: Settings) -> SessionSize:
    """The number of exercises and of lines with the least sets that fit the day's minutes."""
    limits = settings.limits
    size = next(
        (size for size in limits.session_sizes if day.minutes <= size.up_to_minutes),
        limits.session_sizes[-1],
    )
    if day.type != "short":
        return size
    most = min(size.exercises_max, limits.exercises_per_short_session_max)
    return size.model_copy(update={"exercises_max": most})


def floor_asked(
    muscle: str, request: ProgrammeRequest, layout: Layout, settings: Settings
) -> float:
    """The floor the search holds to: in a tight week small muscles are asked for less."""
    floor, tight = request.floors_sets.get(muscle, 0.0), settings.week.tight_weeks
    roomy = sum(day.minutes for day in layout.days) > tight.up_to_minutes
    if roomy or muscle in request.priority_muscles or muscle not in tight.muscles:
        return floor
    return min(floor, tight.floor_sets)


def trains_group(exercise: Exercise, group: MuscleGroup) -> bool:
    """True if an exercise counts as work for one of the group's muscles."""
    return any(exercise.credits.get(muscle, 0.0) >= HALF_CREDIT for muscle in group.muscles)


def least_exercises(day: Day, settings: Settings) -> int:
    """Fewer exercises than this make a thin day."""
    limits = settings.limits
    if day.type == "short":
        return limits.exercises_per_short_session_min
    return limits.exercises_per_session_min
