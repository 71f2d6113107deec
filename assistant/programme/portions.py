"""How much a day holds and a week asks: numbers of exercises and lines, floors, public groups."""

from __future__ import annotations

from assistant.model.documents.exercises import HALF_CREDIT, Exercise
from assistant.model.documents.week_settings import MuscleGroup, SessionSize, Settings
from assistant.programme.days import Day, Layout
from assistant.programme.request import ProgrammeRequest


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
