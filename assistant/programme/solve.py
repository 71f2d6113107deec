"""Runs the phases one after the other; each holds what the ones before it reached."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from ortools.sat.python import cp_model

from assistant.model.documents.week_settings import PhaseSettings, Settings
from assistant.model.programme import Phase
from assistant.programme.filled import Chosen
from assistant.programme.model import QUARTERS, Expression, Place, WeekModel
from assistant.programme.objective import Objective
from assistant.programme.request import ProgrammeRequest

# With two days a pair is the whole week, which the phase has just tried.
_PAIRS_FROM = 3
_REGIONS = (("lower", "trunk"), ("upper", "trunk"))
# The bound of a whole-numbered measure may be rounded up, but not for a float's last digit.
_ROUNDING = 1e-6
_WORST = 10**9
_SOLVED = (cp_model.OPTIMAL, cp_model.FEASIBLE)


@dataclass(frozen=True)
class Solution:
    """The chosen lines and how far each phase got; `feasible` is False if pins cannot be held."""

    feasible: bool
    chosen: tuple[Chosen, ...]
    phases: tuple[Phase, ...]


def solve(
    week: WeekModel,
    request: ProgrammeRequest,
    settings: Settings,
    last_phase: str | None = None,
) -> Solution:
    """Solves the phases in the order of the rules, up to and including `last_phase`."""
    objective = Objective(week, request, settings)
    phases: list[Phase] = []
    best: _Best | None = None
    for phase in settings.week.phases:
        measure = objective.measure(phase.id, phase.weights)
        week.model.minimize(measure)
        if best is None:
            best = _week_now(week, request, settings.week.remedy_search_time)
        if best is not None:
            best = _resolved(week, best, _Part(()), phase, request.seed)
            _hint(week.model, best.values)
        solver = _solver(phase.deterministic_time, request.seed)
        status = solver.solve(week.model)
        if status == cp_model.INFEASIBLE:
            return Solution(feasible=False, chosen=(), phases=tuple(phases))
        if status in _SOLVED:
            found = _Best(round(solver.objective_value), list(solver.response_proto.solution))
            best = found if best is None or found.value < best.value else best
        if best is None:
            continue
        bound = max(0, math.ceil(solver.best_objective_bound - _ROUNDING))
        if best.value > bound:
            best = _improved(week, best, bound, phase, request.seed)
        sets = sum(_sets(place, best) for place in week.places)
        phases.append(_phase(phase, best.value, bound, sets))
        week.model.add(measure <= best.value + phase.keep_within)
        if phase.id == last_phase:
            break
    return Solution(feasible=True, chosen=_chosen(week, best), phases=tuple(phases))


@dataclass(frozen=True)
class _Best:
    value: int
    values: list[int]


def _week_now(week: WeekModel, request: ProgrammeRequest, time: float) -> _Best | None:
    """The week nearest to the one now running that breaks no rule: fewest lines added or lost."""
    if not request.previous_days:
        return None
    model = week.model.clone()
    changed: Expression = 0
    for place in week.places:
        stood = place.day.id in request.previous_days.get(place.candidate.exercise.id, ())
        changed = changed + (1 - place.used if stood else place.used)
    model.minimize(changed)
    solver = _solver(time, request.seed)
    if solver.solve(model) not in _SOLVED:
        return None
    return _Best(_WORST, list(solver.response_proto.solution))


def _improved(week: WeekModel, best: _Best, bound: int, phase: PhaseSettings, seed: int) -> _Best:
    """Re-solves parts of the week with the rest held, in turn.

    Ends when the phase's number of tries is used, when a whole turn brings nothing, or when the
    value is proven.
    """
    parts = _neighbourhoods(week, phase.improve_by)
    idle = 0
    for _, part in zip(range(phase.improvement_tries), itertools.cycle(parts), strict=False):
        if best.value <= bound or idle == len(parts):
            break
        found = _resolved(week, best, part, phase, seed)
        idle = idle + 1 if found.value == best.value else 0
        best = found
    return best


@dataclass(frozen=True)
class _Part:
    """Places to choose anew; `same_kinds` holds the sets of each movement pattern on each day."""

    free: tuple[Place, ...]
    same_kinds: bool = False


def _neighbourhoods(week: WeekModel, kinds: tuple[str, ...]) -> list[_Part]:
    """Parts worth re-solving alone: relatives, days (in pairs from three on), body halves."""
    days = week.layout.days
    parts: list[_Part] = []
    if "relatives" in kinds:
        parts.append(_Part(week.places, same_kinds=True))
    if "days" in kinds:
        width = 2 if len(days) >= _PAIRS_FROM else 1
        groups = [
            [days[(at + step) % len(days)] for step in range(width)] for at in range(len(days))
        ]
        parts += [
            _Part(tuple(place for place in week.places if place.day in group)) for group in groups
        ]
    if "regions" in kinds:
        parts += [
            _Part(tuple(place for place in week.places if place.candidate.region in regions))
            for regions in _REGIONS
        ]
    return parts


def _resolved(week: WeekModel, best: _Best, part: _Part, phase: PhaseSettings, seed: int) -> _Best:
    """Solves the model for the free places with all others held; with none free, completes it."""
    model = week.model.clone()
    free = part.free
    loose = {place.used.index for place in free}
    if part.same_kinds:
        _hold_kinds(model, week, best)
    for place in week.places:
        if place.used.index not in loose:
            for variable in (place.used, *place.steps):
                held = model.get_int_var_from_proto_index(variable.index)
                model.add(held == best.values[variable.index])
    _hint(model, best.values)
    solver = _solver(phase.improvement_time if free else phase.deterministic_time, seed)
    if solver.solve(model) not in _SOLVED:
        return best
    value = round(solver.objective_value)
    if free and value >= best.value:
        return best
    return _Best(value, list(solver.response_proto.solution))


def _hold_kinds(model: cp_model.CpModel, week: WeekModel, best: _Best) -> None:
    kinds: dict[tuple[str, str], list[Place]] = {}
    for place in week.places:
        kinds.setdefault((place.day.id, place.candidate.exercise.pattern), []).append(place)
    for places in kinds.values():
        sets = sum(_sets(place, best) for place in places)
        if sets:
            model.add(sum(place.sets for place in places) == sets)
            continue
        for place in places:
            model.add(model.get_int_var_from_proto_index(place.used.index) == 0)


def _sets(place: Place, best: _Best) -> int:
    extra = sum(best.values[step.index] for step in place.steps)
    return place.least_sets * best.values[place.used.index] + extra


def _solver(deterministic_time: float, seed: int) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.linearization_level = 2
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_deterministic_time = deterministic_time
    return solver


def _hint(model: cp_model.CpModel, values: list[int]) -> None:
    model.clear_hints()  # type: ignore[no-untyped-call]
    for index, value in enumerate(values):
        model.add_hint(model.get_int_var_from_proto_index(index), value)


def _phase(phase: PhaseSettings, value: int, bound: int, sets: int) -> Phase:
    proven = value <= bound
    gap = 0.0 if proven else 100.0 * (value - bound) / max(1, value)
    status = "optimal" if proven else "feasible"
    words = "" if proven else _gap_words(phase, value - bound, sets)
    return Phase(phase.id, phase.title, phase.why, status, value, bound, round(gap, 1), words)


def _gap_words(phase: PhaseSettings, gap: int, sets: int) -> str:
    if phase.id == "quality":
        return f"a better week is at most {gap / max(1, sets):.1f} rank points a set better"
    return f"a better week saves at most what {in_sets_short(phase, gap)} count"


def in_sets_short(phase: PhaseSettings, points: int) -> str:
    """Points of a phase as the sets short that cost as much, e.g. `2.4 sets short for a priority`."""
    unit = {"whole_body": "floor_quarter_set", "priorities": "low_quarter_set"}
    a_set = QUARTERS * phase.weights[unit.get(phase.id, "other_short_quarter_set")]
    muscle = "a priority" if phase.id == "priorities" else "an ordinary muscle"
    return f"{points / a_set:.1f} sets short for {muscle}"


def _chosen(week: WeekModel, best: _Best | None) -> tuple[Chosen, ...]:
    if best is None:
        return ()
    return tuple(
        Chosen(place.candidate, place.day, _sets(place, best))
        for place in week.places
        if best.values[place.used.index]
    )
