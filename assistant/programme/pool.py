"""Which exercises this client may do, how a coach ranks them, and which few are worth solving."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from assistant.model.documents.exercises import FULL_CREDIT, SMALL_STEPS, Exercise
from assistant.model.programme import NotChosen
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import lay_out
from assistant.programme.limits import barred_zones, limit_against
from assistant.programme.points import score
from assistant.programme.request import ProgrammeRequest

NOVICE = "novice"
HARD_TO_LOAD = 1
DRILL = "teaching_drill"


@dataclass(frozen=True)
class Candidate:
    """An exercise the client may do: its rank points and the repetition zone it is planned in.

    by_hand: the range a coach said instead of the zone's, in the measure of the exercise.
    """

    exercise: Exercise
    kind: str
    region: str
    score: int
    zone: str
    by_hand: tuple[int, int] | None = None


@dataclass(frozen=True)
class Pool:
    """Candidates for the solver, everyone else who may be done, and the ones ruled out.

    outloaded: who may be done, as a stand-in, but gives way in the week to the same work with a load.
    """

    chosen: tuple[Candidate, ...]
    allowed: Mapping[str, Candidate]
    ruled_out: tuple[NotChosen, ...]
    outloaded: Mapping[str, NotChosen]


def build_pool(request: ProgrammeRequest, catalogue: Catalogue) -> Pool:
    """Filters by equipment, joints, screen and skill, ranks the rest and keeps the best few."""
    allowed: dict[str, Candidate] = {}
    ruled_out: list[NotChosen] = []
    for exercise in catalogue.exercises.values():
        refusal = why_ruled_out(exercise, request, catalogue)
        if refusal is not None:
            ruled_out.append(refusal)
            continue
        pattern = catalogue.patterns[exercise.pattern]
        allowed[exercise.id] = Candidate(
            exercise=exercise,
            kind=pattern.kind,
            region=pattern.region,
            score=score(exercise, request, catalogue),
            zone=zone_of(exercise, pattern.kind, request, catalogue),
            by_hand=request.hand.range_of(exercise.id),
        )
    outloaded = _outloaded(allowed, request, catalogue)
    worth = {name: item for name, item in allowed.items() if name not in outloaded}
    chosen = _worth_solving(worth, request, catalogue)
    return Pool(chosen, allowed, tuple(ruled_out), outloaded)


def why_ruled_out(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> NotChosen | None:
    """Returns the first hard reason against an exercise, or None if the client may do it.

    Skill, ability and drills are judged by the coach who asks for the exercise by hand.
    """
    if exercise.id in request.hand.never:
        return NotChosen(exercise.id, "by_hand", "not again for this client, said by hand")
    if not exercise.possible_with(request.equipment):
        return NotChosen(exercise.id, "equipment", f"needs {_missing_kit(exercise, request)}")
    hurts = _joint_against(exercise, request, catalogue)
    if hurts is not None:
        return NotChosen(exercise.id, "joint", hurts)
    against = limit_against(exercise, request, catalogue)
    if against is not None:
        return NotChosen(exercise.id, "restriction", against.say)
    if exercise.id in request.hand.wanted:
        return None
    return _for_a_coach_to_ask(exercise, request, catalogue)


def _missing_kit(exercise: Exercise, request: ProgrammeRequest) -> str:
    missing = [piece for piece in exercise.equipment if piece not in request.equipment]
    missing += [
        " or ".join(choice)
        for choice in exercise.equipment_any
        if not any(piece in request.equipment for piece in choice)
    ]
    return ", ".join(piece.replace("_", " ") for piece in missing if piece != "bodyweight")


def _for_a_coach_to_ask(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> NotChosen | None:
    if DRILL in exercise.flags:
        return NotChosen(exercise.id, "drill", "teaches a movement and trains nothing for long")
    needed, level = exercise.needs_ability, request.training_level
    if needed is not None and needed not in request.abilities:
        why = f"nobody has said that {catalogue.abilities[needed]} can be done"
        return NotChosen(exercise.id, "ability", why)
    limit = catalogue.settings.week.levels[level].max_skill
    if exercise.skill > limit:
        why = f"asks skill {exercise.skill} of 3; {level} work stops at {limit}"
        return NotChosen(exercise.id, "skill", why)
    return None


def _joint_against(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> str | None:
    moved = {*exercise.joint_stress, *catalogue.patterns[exercise.pattern].joints}
    spared = (request.sore_joints & set(exercise.joint_stress)) | (request.resting_joints & moved)
    if spared:
        return f"loads the sore {' and '.join(joint.replace('_', ' ') for joint in sorted(spared))}"
    hurts = request.hurting & set(exercise.flags)
    if hurts:
        return (
            f"asks for what hurts: {' and '.join(sorted(catalogue.flags[each] for each in hurts))}"
        )
    return None


def zone_of(exercise: Exercise, kind: str, request: ProgrammeRequest, catalogue: Catalogue) -> str:
    """Returns the repetition zone the exercise is planned in under the block's style."""
    said = request.hand.range_of(exercise.id)
    if said is not None and exercise.measure == "repetitions":
        return _nearest_zone(said, catalogue)
    barred = barred_zones(request, catalogue)
    wanted = catalogue.settings.zones.preference[request.block_style][kind]
    for zone in wanted:
        if zone in exercise.rep_zones and zone not in barred:
            return zone
    return exercise.rep_zones[-1]


def _nearest_zone(said: tuple[int, int], catalogue: Catalogue) -> str:
    """The zone whose printed range is nearest to the middle of a range said by hand."""
    middle = sum(said) / 2
    zones = catalogue.settings.zones.repetitions
    return min(zones, key=lambda zone: max(zones[zone][0] - middle, middle - zones[zone][1]))


def _worth_solving(
    allowed: Mapping[str, Candidate], request: ProgrammeRequest, catalogue: Catalogue
) -> tuple[Candidate, ...]:
    sizes, tight = catalogue.settings.pool, catalogue.settings.week.tight_weeks
    minutes = sum(day.minutes for day in lay_out(request, catalogue.settings).days)
    if minutes <= tight.up_to_minutes:
        sizes = sizes.model_copy(update={"per_muscle": sizes.per_muscle_in_tight_weeks})
    usual = math.ceil(len(request.day_types or request.available_days) / sizes.days_per_choice)
    full = {item.exercise.pattern for item in allowed.values() if _trains_fully(item, request)}
    useful = [
        item
        for item in allowed.values()
        if any(muscle in item.exercise.primary for muscle in request.target_sets)
        and (_trains_fully(item, request) or item.exercise.pattern not in full)
    ]
    ranked = sorted(useful, key=lambda item: (-item.score, item.exercise.id))
    wanted = {pin.exercise for pin in request.pinned} | request.liked | request.previous_exercises
    wanted |= request.hand.wanted
    kept = {name: allowed[name] for name in sorted(wanted) if name in allowed}
    open_patterns = _open_patterns(kept, request, catalogue)
    taken: dict[str, int] = {}
    for item in ranked:
        pattern = item.exercise.pattern
        serves = any(muscle in item.exercise.primary for muscle in request.priority_muscles)
        limit = usual + sizes.more_for_priority if serves else usual
        if pattern in catalogue.settings.limits.one_day_patterns:
            limit = max(limit, usual + 1)
        if pattern in open_patterns and taken.get(pattern, 0) < limit:
            taken[pattern] = taken.get(pattern, 0) + 1
            kept[item.exercise.id] = item
    for muscle in request.target_sets:
        able = [item for item in ranked if item.exercise.primary.get(muscle, 0.0) >= FULL_CREDIT]
        have = sum(item.exercise.id in kept for item in able)
        if have and request.previous_exercises:
            continue
        more = [item for item in able if item.exercise.id not in kept]
        kept.update({item.exercise.id: item for item in more[: max(0, sizes.per_muscle - have)]})
    kept.update(_loaded_lifts(ranked, kept, request, catalogue))
    # What a coach asked for by hand is placed even if it trains little that is counted.
    for name in sorted(
        request.hand.wanted & allowed.keys() - {item.exercise.id for item in ranked}
    ):
        ranked.append(allowed[name])
        kept[name] = allowed[name]
    return tuple(item for item in ranked if item.exercise.id in kept)


def _loaded_lifts(
    ranked: Iterable[Candidate],
    kept: Mapping[str, Candidate],
    request: ProgrammeRequest,
    catalogue: Catalogue,
) -> Mapping[str, Candidate]:
    """The best loaded lift of each kind of movement that is asked for one and would be looked at without."""
    week, found = catalogue.settings.week, {}
    if not week.levels[request.training_level].no_loaded_lift:
        return {}
    lifts = [item for item in ranked if is_loaded_lift(item)]
    for family in week.loaded_kinds:
        able = [item for item in lifts if item.exercise.pattern in family.patterns]
        if able and not any(item.exercise.id in kept for item in able):
            found[able[0].exercise.id] = able[0]
    return found


def is_loaded_lift(item: Candidate) -> bool:
    """True for a big two-sided lift whose load goes up in small steps for years."""
    exercise = item.exercise
    is_big = item.kind == "compound" and not exercise.unilateral
    return is_big and exercise.loadability == SMALL_STEPS


def _trains_fully(item: Candidate, request: ProgrammeRequest) -> bool:
    """False for a filler, which is only looked at where its kind of movement has nothing better."""
    return any(item.exercise.credits.get(m, 0.0) >= FULL_CREDIT for m in request.target_sets)


def does_the_work_of(other: Exercise, exercise: Exercise) -> bool:
    """True if an exercise is as good for each muscle that another one is there for."""
    return all(other.primary.get(m, 0.0) >= exercise.primary[m] for m in exercise.prime_movers)


def _outloaded(
    allowed: Mapping[str, Candidate], request: ProgrammeRequest, catalogue: Catalogue
) -> dict[str, NotChosen]:
    """Body-weight work that somebody who has trained before could do with a load, each with what does it.

    A beginner learns on either. What is liked, asked for or part of the running block stays; so does trunk work.
    """
    if request.training_level == NOVICE:
        return {}
    comfort = catalogue.settings.score.comfortable_skill[request.training_level]
    bands = frozenset(catalogue.settings.week.loads_without_kilograms)
    stays = request.liked | request.previous_exercises | request.hand.wanted
    stays |= {pin.exercise for pin in request.pinned}
    found = {}
    for name, item in allowed.items():
        exercise = item.exercise
        loaded = bands.intersection(exercise.equipment) or exercise.loadability > HARD_TO_LOAD
        if loaded or item.kind == "trunk" or name in stays:
            continue
        better = [
            other
            for other in allowed.values()
            if other.exercise.pattern == exercise.pattern
            and other.exercise.loadability > HARD_TO_LOAD
            and other.exercise.skill <= max(comfort, exercise.skill)
            and does_the_work_of(other.exercise, exercise)
            and not request.eased_joints
            & (set(other.exercise.joint_stress) - set(exercise.joint_stress))
        ]
        if better:
            best = max(better, key=lambda other: (other.score, other.exercise.id)).exercise
            why = f"{best.name} does the same work and can be loaded in steps"
            found[name] = NotChosen(name, "loadability", why, None, best.id)
    return found


def _open_patterns(
    kept: Mapping[str, Candidate], request: ProgrammeRequest, catalogue: Catalogue
) -> frozenset[str]:
    """Patterns to search: all at first; inside a block only what its exercises leave uncovered."""
    if not any(name in request.previous_exercises for name in kept):
        return frozenset(catalogue.patterns)
    week = catalogue.settings.week
    have = {item.exercise.pattern for item in kept.values()}
    groups = [group.patterns for group in week.families]
    groups += [part.patterns for parts in week.day_parts.values() for part in parts]
    for muscle in request.priority_muscles:
        groups += [angle.patterns for angle in week.angles.get(muscle, ())]
    return frozenset(pattern for group in groups if not have & set(group) for pattern in group)
