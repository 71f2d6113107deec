"""How a coach ranks an exercise for one client: points, each by the number of the book that gives it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from assistant.model.documents.exercises import FULL_CREDIT, Exercise
from assistant.programme.catalogue import Catalogue
from assistant.programme.request import ProgrammeRequest

HIGH = "high"


def points_of(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> Mapping[str, float]:
    """Return the points by the name of the setting that gives them, those that count for nothing left out."""
    every = (*_for_muscles(exercise, request, catalogue), *_by_itself(exercise, request, catalogue),
             *_by_history(exercise, request, catalogue))  # fmt: skip
    return {name: number for name, number in every if number}


def score(exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue) -> int:
    """Rank an exercise for this client in whole points; higher is better."""
    return round(sum(points_of(exercise, request, catalogue).values()))


def _for_muscles(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> Iterator[tuple[str, float]]:
    points = catalogue.settings.score
    earned = {name: exercise.credits.get(name, 0.0) for name in request.target_sets}
    best = max(earned.values(), default=0.0)
    yield "best_credit", points.best_credit * best
    ranked = enumerate(request.priority_muscles, start=1)
    shares = (points.priority_credit * earned.get(muscle, 0.0) / place for place, muscle in ranked)
    yield "priority_credit", sum(shares)
    if best < FULL_CREDIT:
        yield "support_work", points.support_work


def _by_itself(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> Iterator[tuple[str, float]]:
    points = catalogue.settings.score
    kinds = {catalogue.sources[name].kind for name in exercise.evidence}
    if "growth_trial" in kinds:
        yield "growth_trial", points.growth_trial
    elif "activity_study" in kinds:
        yield "activity_study", points.activity_study
    novice = request.training_level == "novice"
    share = points.novice_loadability_percent / 100 if novice else 1.0
    yield "loadability", points.loadability[exercise.loadability - 1] * share
    above = exercise.skill - points.comfortable_skill[request.training_level]
    yield "skill_above_comfort", points.skill_above_comfort * max(0, above)
    if exercise.peak_tension == "lengthened":
        yield "long_length_peak", points.long_length_peak
    if "balance_demand" in exercise.flags:
        older = request.age_years >= points.older_from_years
        name = "balance_demand_from_age_60" if older else "balance_demand"
        yield name, getattr(points, name)
    if request.eased_joints & set(exercise.joint_stress):
        yield "sore_joint", points.sore_joint
    if exercise.axial_load == HIGH:
        yield "high_axial", points.high_axial
    if not exercise.unilateral and exercise.setup_s <= points.quick_setup_up_to_s:
        yield "quick_two_sided", points.quick_two_sided
    if exercise.loadability == 1 and not novice:
        yield "body_weight_drill", points.body_weight_drill
    pattern = catalogue.patterns[exercise.pattern]
    for_legs = (pattern.region, pattern.kind) == ("lower", "compound") and not exercise.unilateral
    held = set(catalogue.settings.week.loads_in_the_hands)
    if for_legs and held & set(exercise.equipment) and not novice:
        yield "light_leg_lift", points.light_leg_lift


def _by_history(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> Iterator[tuple[str, float]]:
    points = catalogue.settings.score
    if exercise.id in request.liked:
        yield "liked", points.liked
    if exercise.id in request.disliked:
        yield "disliked", points.disliked
    compound = catalogue.patterns[exercise.pattern].kind == "compound"
    if exercise.id in request.previous_exercises:
        stale = exercise.id in request.exercises_before_previous and not compound
        name = "stale_helper" if stale else "kept_anchor"
        yield name, getattr(points, name)
