"""Runs the phases one after the other; each holds what the ones before it reached."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from ortools.sat.python import cp_model

from assistant.model.programme import Phase
from assistant.programme.aims import Aims
from assistant.programme.days import Day
from assistant.programme.model import Place, WeekModel
from assistant.programme.pool import Candidate
from assistant.programme.request import ProgrammeRequest
from assistant.programme.settings import PhaseSettings, Settings

# With two days a pair is the whole week, which the phase has just tried.
_PAIRS_FROM = 3
_REGIONS = (("lower", "trunk"), ("upper", "trunk"))
_SOLVED = (cp_model.OPTIMAL, cp_model.FEASIBLE)


@dataclass(frozen=True)
class Chosen:
    """One exercise the solver put on a day, with its sets."""

    candidate: Candidate
    day: Day
    sets: int


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
    aims = Aims(week, request, settings)
    phases: list[Phase] = []
    best: _Best | None = None
    for phase in settings.week.phases:
        measure = aims.measure(phase.id, phase.weights)
        week.model.minimize(measure)
        if best is not None:
            best = _resolved(week, best, [], phase, request.seed)
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
        bound = max(0, round(solver.best_objective_bound))
        if best.value > bound:
            best = _improved(week, best, bound, phase, request.seed)
        phases.append(_phase(phase, best.value, bound))
        week.model.add(measure <= best.value + phase.keep_within)
        if phase.id == last_phase:
            break
    return Solution(feasible=True, chosen=_chosen(week, best), phases=tuple(phases))


@dataclass(frozen=True)
class _Best:
    value: int
    values: list[int]


def _improved(week: WeekModel, best: _Best, bound: int, phase: PhaseSettings, seed: int) -> _Best:
    """Re-solves parts of the week with the rest held, in turn.

    Ends when the phase's number of tries is used, when a whole turn brings nothing, or when the
    value is proven.
    """
    parts = _neighbourhoods(week, phase.improve_by)
    idle = 0
    for _, free in zip(range(phase.improvement_tries), itertools.cycle(parts), strict=False):
        if best.value <= bound or idle == len(parts):
            break
        found = _resolved(week, best, free, phase, seed)
        idle = idle + 1 if found.value == best.value else 0
        best = found
    return best


def _neighbourhoods(week: WeekModel, kinds: tuple[str, ...]) -> list[list[Place]]:
    """Parts worth re-solving alone: days (in pairs where there are three), halves of the body."""
    days = week.layout.days
    parts: list[list[Place]] = []
    if "days" in kinds:
        width = 2 if len(days) >= _PAIRS_FROM else 1
        groups = [
            [days[(at + step) % len(days)] for step in range(width)] for at in range(len(days))
        ]
        parts += [[place for place in week.places if place.day in group] for group in groups]
    if "regions" in kinds:
        parts += [
            [place for place in week.places if place.candidate.region in regions]
            for regions in _REGIONS
        ]
    return parts


def _resolved(
    week: WeekModel, best: _Best, free: list[Place], phase: PhaseSettings, seed: int
) -> _Best:
    """Solves the model for the `free` places with all others held; with none free, completes it."""
    model = week.model.clone()
    loose = {place.used.index for place in free}
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


def _phase(phase: PhaseSettings, value: int, bound: int) -> Phase:
    proven = value <= bound
    gap = 0.0 if proven else 100.0 * (value - bound) / max(1, value)
    status = "optimal" if proven else "feasible"
    return Phase(phase.id, phase.title, phase.why, status, value, bound, round(gap, 1))


def _chosen(week: WeekModel, best: _Best | None) -> tuple[Chosen, ...]:
    if best is None:
        return ()
    return tuple(
        Chosen(
            place.candidate,
            place.day,
            place.least_sets + sum(best.values[step.index] for step in place.steps),
        )
        for place in week.places
        if best.values[place.used.index]
    )
