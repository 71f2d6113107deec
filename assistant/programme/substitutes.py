"""Two stand-ins for a line: one for when the kit is taken, one for when a joint complains."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from assistant.model.documents.exercises import HALF_CREDIT, Exercise
from assistant.model.programme import Substitute
from assistant.programme.pool import Candidate


def substitutes_for(
    candidate: Candidate, allowed: Mapping[str, Candidate], today: frozenset[str]
) -> tuple[Substitute, ...]:
    """Returns up to two stand-ins from the exercises this client may do, none already that day."""
    exercise = candidate.exercise
    kit, joints = set(_kit(exercise)), set(exercise.joint_stress)
    found: list[Substitute] = []
    other_kit = _best(candidate, allowed, today, lambda other: not kit & set(_kit(other)))
    if other_kit is not None:
        needs = ", ".join(piece.replace("_", " ") for piece in _kit(other_kit)) or "nothing"
        found.append(
            Substitute(other_kit.id, other_kit.name, "equipment", f"needs {needs} instead")
        )
    taken = today | {item.exercise for item in found}
    spares = _best(
        candidate,
        allowed,
        taken,
        lambda other: not joints & set(other.joint_stress) and other.skill <= exercise.skill,
    )
    if spares is not None:
        named = " and ".join(sorted(joint.replace("_", " ") for joint in joints))
        why = f"spares the {named}" if joints else "also easy on the joints"
        found.append(Substitute(spares.id, spares.name, "joint", why))
    return tuple(found)


def _best(
    candidate: Candidate,
    allowed: Mapping[str, Candidate],
    taken: frozenset[str],
    suits: Callable[[Exercise], bool],
) -> Exercise | None:
    ranked = sorted(
        (
            (-_likeness(candidate.exercise, other.exercise), -other.score, name)
            for name, other in allowed.items()
            if name not in taken
            and name != candidate.exercise.id
            and suits(other.exercise)
            and _likeness(candidate.exercise, other.exercise) > 0
        ),
    )
    return allowed[ranked[0][2]].exercise if ranked else None


def _likeness(wanted: Exercise, other: Exercise) -> int:
    """Shared full credits weigh most, then the same movement pattern; 0 means no stand-in."""
    shared = sum(
        min(credit, other.credits.get(muscle, 0.0)) for muscle, credit in wanted.primary.items()
    )
    if shared < HALF_CREDIT:
        return 0
    return round(8 * shared) + (4 if other.pattern == wanted.pattern else 0)


def _kit(exercise: Exercise) -> tuple[str, ...]:
    pieces = [piece for piece in exercise.equipment if piece != "bodyweight"]
    return (*pieces, *(piece for choice in exercise.equipment_any for piece in choice))
