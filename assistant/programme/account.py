"""Says in words why each exercise is in the week, why others are not, and which limits bind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.model.documents.exercises import HALF_CREDIT
from assistant.model.programme import NotChosen, Session
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Day
from assistant.programme.filled import Chosen, Filled
from assistant.programme.points import HIGH
from assistant.programme.pool import Candidate, Pool
from assistant.programme.portions import session_size
from assistant.programme.request import DAYS, ProgrammeRequest

# Less than one more set with its rest.
_TIGHT_MINUTES = 3


def reason_for(item: Chosen, request: ProgrammeRequest, catalogue: Catalogue, pool: Pool) -> str:
    """One sentence: what the exercise does in this week and how it ranked among its kind."""
    exercise = item.candidate.exercise
    served = [m for m in request.priority_muscles if exercise.credits.get(m, 0.0) >= HALF_CREDIT]
    full = [m for m in exercise.primary if m in request.target_sets] or list(exercise.primary)
    parts = [f"trains {_named(full, catalogue)}"]
    if served:
        parts.append(f"priority: {_named(served, catalogue)}")
    angles = [
        angle.name
        for muscle in request.priority_muscles
        for angle in catalogue.settings.week.angles.get(muscle, ())
        if exercise.pattern in angle.patterns
    ]
    if angles:
        parts.append(f"the angle: {', '.join(dict.fromkeys(angles))}")
    pinned = any(pin.exercise == exercise.id for pin in request.pinned)
    if pinned or request.hand.wants(exercise.id, item.day.id):
        parts.append("asked for by the coach")
    eased = sorted(request.eased_joints & set(exercise.joint_stress))
    if eased:
        names = " and ".join(joint.replace("_", " ") for joint in eased)
        parts.append(f"loads the sore {names}: only as far as it does not hurt")
    if exercise.id in request.previous_exercises:
        parts.append("kept from the last block, so progress can be read")
    if exercise.id in request.liked:
        parts.append("liked")
    parts.append(_rank(item.candidate, pool, catalogue))
    return "; ".join(parts)


def _rank(candidate: Candidate, pool: Pool, catalogue: Catalogue) -> str:
    pattern = candidate.exercise.pattern
    rivals = [
        other
        for other in pool.allowed.values()
        if other.exercise.pattern == pattern and other.exercise.id != candidate.exercise.id
    ]
    name = catalogue.patterns[pattern].name.lower()
    if not rivals:
        return f"the only {name} of the exercise book that this client can do"
    best = max(rivals, key=lambda other: (other.score, other.exercise.id))
    lead = candidate.score - best.score
    if lead >= 0:
        margin = f"{_points(lead)} ahead" if lead else f"level with {best.exercise.name}"
        return f"ranks first of {len(rivals) + 1} for {name}, {margin}"
    return f"{_points(-lead)} behind {best.exercise.name}, chosen as the rest of the week goes better with it"


def not_chosen(chosen: Iterable[Chosen], pool: Pool) -> tuple[NotChosen, ...]:
    """Every exercise that is not in the week, with the cause."""
    in_week = {item.candidate.exercise.id: item.candidate for item in chosen}
    looked_at = {candidate.exercise.id for candidate in pool.chosen}
    left = list(pool.ruled_out)
    for name, candidate in pool.allowed.items():
        if name not in in_week:
            told = pool.outloaded.get(name)
            left.append(told or _why_not(candidate, in_week, looked_at=name in looked_at))
    return tuple(sorted(left, key=lambda item: item.exercise))


def _why_not(
    candidate: Candidate,
    in_week: Mapping[str, Candidate],
    *,
    looked_at: bool,
) -> NotChosen:
    exercise = candidate.exercise
    cause = "lower_value" if looked_at else "lower_rank"
    alike = [c for c in in_week.values() if c.exercise.pattern == exercise.pattern]
    same_muscle = [c for c in in_week.values() if set(c.exercise.primary) & set(exercise.primary)]
    rivals = alike or same_muscle
    if not rivals:
        return NotChosen(exercise.id, cause, "no time was left for its kind after what ranks first")
    rival = max(rivals, key=lambda other: (other.score, other.exercise.id))
    behind = rival.score - candidate.score
    kind = "its kind of movement is" if alike else "its muscles are"
    if behind > 0:
        why = f"{kind} covered by {rival.exercise.name}, {_points(behind)} ahead"
    else:
        why = f"{kind} covered by {rival.exercise.name}; a second one would cost a station"
    return NotChosen(exercise.id, cause, why, behind, rival.exercise.id)


def binding_limits(sessions: Iterable[Session], week: Filled) -> tuple[str, ...]:
    """Limits with no room left: the clock of a day, a session cap, a weekly ceiling, axial load."""
    catalogue, found = week.catalogue, []
    limits = catalogue.settings.limits
    axial_week = 0
    for session in sessions:
        left = session.minutes_allowed - session.minutes
        if left < _TIGHT_MINUTES:
            found.append(
                f"{session.day}: the clock ({left:.0f} of {session.minutes_allowed} min left)"
            )
        place = Day(session.day, DAYS.index(session.day), session.type, session.minutes_allowed)
        most = session_size(place, catalogue.settings).exercises_max
        if len(session.lines) >= most:
            found.append(f"{session.day}: {most} exercises, the most a session holds")
        axial = sum(
            line.sets
            for line in session.lines
            if catalogue.exercises[line.exercise].axial_load == HIGH
        )
        axial_week += axial
        if axial >= limits.high_axial_sets_per_session:
            found.append(f"{session.day}: {axial} sets with high load on the spine, the most a day")
    if axial_week >= limits.high_axial_sets_per_week:
        found.append(f"week: {axial_week} sets with high load on the spine, the most a week")
    for (muscle, day), sets in sorted(week.volume.items()):
        if sets >= week.request.session_cap_sets[1]:
            found.append(f"{day}: {week.name(muscle)} at {sets:g} sets, the most a session")
    found += [
        f"week: {week.name(got.muscle)} at its ceiling of {got.ceiling:g} sets"
        for got in week.muscles
        if got.sets >= got.ceiling
    ]
    return tuple(found)


def _named(muscles: Iterable[str], catalogue: Catalogue) -> str:
    return ", ".join(catalogue.muscles[muscle].plain_name for muscle in muscles)


def _points(number: int) -> str:
    return f"{number} point{'s' if number != 1 else ''}"
