"""Which exercises this client may do, how a coach ranks them, and which few are worth solving."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.documents.exercises import FULL_CREDIT, Exercise
from assistant.model.programme import NotChosen
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import lay_out
from assistant.programme.limits import barred_zones, limit_against
from assistant.programme.request import ProgrammeRequest

HIGH = "high"


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
    """Candidates for the solver, everyone else who may be done, and the ones ruled out."""

    chosen: tuple[Candidate, ...]
    allowed: Mapping[str, Candidate]
    ruled_out: tuple[NotChosen, ...]


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
    chosen = _worth_solving(allowed, request, catalogue)
    return Pool(chosen=chosen, allowed=allowed, ruled_out=tuple(ruled_out))


def why_ruled_out(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> NotChosen | None:
    """Returns the first hard reason against an exercise, or None if the client may do it.

    Skill is judged by the coach who asks for the exercise by hand.
    """
    settings = catalogue.settings.week
    if exercise.id in request.hand.never:
        return NotChosen(exercise.id, "by_hand", "not again for this client, said by hand")
    if not exercise.possible_with(request.equipment):
        missing = [piece for piece in exercise.equipment if piece not in request.equipment]
        missing += [
            " or ".join(choice)
            for choice in exercise.equipment_any
            if not any(piece in request.equipment for piece in choice)
        ]
        needs = ", ".join(piece.replace("_", " ") for piece in missing if piece != "bodyweight")
        return NotChosen(exercise.id, "equipment", f"needs {needs}")
    sore = [joint for joint in exercise.joint_stress if joint in request.sore_joints]
    if sore:
        named = " and ".join(joint.replace("_", " ") for joint in sore)
        return NotChosen(exercise.id, "joint", f"loads the sore {named}")
    against = limit_against(exercise, request, catalogue)
    if against is not None:
        return NotChosen(exercise.id, "restriction", against.say)
    limit = settings.levels[request.training_level].max_skill
    if exercise.skill > limit and exercise.id not in request.hand.wanted:
        return NotChosen(
            exercise.id,
            "skill",
            f"asks skill {exercise.skill} of 3; {request.training_level} work stops at {limit}",
        )
    return None


def score(exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue) -> int:
    """Ranks an exercise for this client in whole points; higher is better."""
    points = catalogue.settings.score
    earned = {name: exercise.credits.get(name, 0.0) for name in request.target_sets}
    best = max(earned.values(), default=0.0)
    total = points.best_credit * best
    for place, muscle in enumerate(request.priority_muscles):
        total += points.priority_credit * earned.get(muscle, 0.0) / (1 + place)
    kinds = {catalogue.sources[name].kind for name in exercise.evidence}
    if "growth_trial" in kinds:
        total += points.growth_trial
    elif "activity_study" in kinds:
        total += points.activity_study
    novice = request.training_level == "novice"
    share = points.novice_loadability_percent / 100 if novice else 1.0
    total += points.loadability[exercise.loadability - 1] * share
    above = exercise.skill - points.comfortable_skill[request.training_level]
    total += points.skill_above_comfort * max(0, above)
    if exercise.peak_tension == "lengthened":
        total += points.long_length_peak
    if "balance_demand" in exercise.flags:
        older = request.age_years >= points.older_from_years
        total += points.balance_demand_from_age_60 if older else points.balance_demand
    if exercise.axial_load == HIGH:
        total += points.high_axial
    if not exercise.unilateral and exercise.setup_s <= points.quick_setup_up_to_s:
        total += points.quick_two_sided
    if exercise.loadability == 1 and not novice:
        total += points.body_weight_drill
    if best < FULL_CREDIT:
        total += points.support_work
    return round(total + _history_points(exercise, request, catalogue))


def _history_points(exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue) -> int:
    points = catalogue.settings.score
    total = points.liked if exercise.id in request.liked else 0
    total += points.disliked if exercise.id in request.disliked else 0
    compound = catalogue.patterns[exercise.pattern].kind == "compound"
    if exercise.id in request.previous_exercises:
        stale = exercise.id in request.exercises_before_previous and not compound
        total += points.stale_helper if stale else points.kept_anchor
    return total


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
    # What a coach asked for by hand is placed even if it trains little that is counted.
    for name in sorted(
        request.hand.wanted & allowed.keys() - {item.exercise.id for item in ranked}
    ):
        ranked.append(allowed[name])
        kept[name] = allowed[name]
    return tuple(item for item in ranked if item.exercise.id in kept)


def _trains_fully(item: Candidate, request: ProgrammeRequest) -> bool:
    """False for a filler, which is only looked at where its kind of movement has nothing better."""
    return any(item.exercise.credits.get(m, 0.0) >= FULL_CREDIT for m in request.target_sets)


def does_the_work_of(other: Exercise, exercise: Exercise) -> bool:
    """True if an exercise is as good for each muscle that another one is there for."""
    return all(other.primary.get(m, 0.0) >= exercise.primary[m] for m in exercise.prime_movers)


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
