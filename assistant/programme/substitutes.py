"""Up to two stand-ins for a line: one for when the kit is taken, one for when a joint complains."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from assistant.model.documents.exercises import HALF_CREDIT, Exercise
from assistant.model.documents.week_settings import Settings
from assistant.model.programme import Substitute
from assistant.programme.pool import Candidate
from assistant.programme.request import ProgrammeRequest


def substitutes_for(
    candidate: Candidate,
    allowed: Mapping[str, Candidate],
    today: frozenset[str],
    request: ProgrammeRequest,
    settings: Settings,
) -> tuple[Substitute, ...]:
    """Returns stand-ins this client may do, none already that day: the same movement for the same muscle.

    Kit is taken only where others train, too; a joint complains only of what loads it.
    """
    exercise = candidate.exercise
    kit, joints = set(_kit(exercise)), set(exercise.joint_stress)
    comfort = max(exercise.skill, settings.score.comfortable_skill[request.training_level])
    alike = {
        name: other
        for name, other in allowed.items()
        if name not in today and _stands_in(other.exercise, exercise, settings)
    }
    found: list[Substitute] = []
    if kit and request.equipment & set(settings.week.kit_of_a_gym):
        other = _best(
            exercise, alike, lambda one: not kit & set(_kit(one)) and one.skill <= comfort
        )
        if other is not None:
            needs = ", ".join(piece.replace("_", " ") for piece in _kit(other)) or "nothing"
            found.append(Substitute(other.id, other.name, "equipment", f"needs {needs} instead"))
            del alike[other.id]
    if joints:
        other = _best(
            exercise,
            alike,
            lambda one: not joints & set(one.joint_stress) and one.skill <= exercise.skill,
        )
        if other is not None:
            named = " and ".join(sorted(joint.replace("_", " ") for joint in joints))
            found.append(Substitute(other.id, other.name, "joint", f"spares the {named}"))
    return tuple(found)


def _best(
    wanted: Exercise, alike: Mapping[str, Candidate], suits: Callable[[Exercise], bool]
) -> Exercise | None:
    """The same pattern first, then what loads best, then the client's rank."""
    ranked = sorted(
        (other.exercise.pattern != wanted.pattern, -other.exercise.loadability, -other.score, name)
        for name, other in alike.items()
        if suits(other.exercise)
    )
    return alike[ranked[0][-1]].exercise if ranked else None


def _stands_in(other: Exercise, wanted: Exercise, settings: Settings) -> bool:
    """True for another exercise of the same movement with a prime mover in common and none left out."""
    alike = {wanted.pattern}.union(
        *(kinds for kinds in settings.week.same_movement if wanted.pattern in kinds)
    )
    movers = wanted.prime_movers
    return (
        other.id != wanted.id
        and other.pattern in alike
        and any(other.primary.get(muscle, 0.0) >= wanted.primary[muscle] for muscle in movers)
        and all(other.credits.get(muscle, 0.0) >= HALF_CREDIT for muscle in movers)
    )


def _kit(exercise: Exercise) -> tuple[str, ...]:
    pieces = [piece for piece in exercise.equipment if piece != "bodyweight"]
    return (*pieces, *(piece for choice in exercise.equipment_any for piece in choice))
