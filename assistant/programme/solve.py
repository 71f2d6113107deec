"""Runs the phases one after the other; each holds what the ones before it reached."""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from assistant.programme.aims import Aims
from assistant.programme.days import Day
from assistant.programme.model import Place, WeekModel
from assistant.programme.pool import Candidate
from assistant.programme.request import ProgrammeRequest
from assistant.programme.result import Phase
from assistant.programme.settings import PhaseSettings, Settings


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
    values: list[int] | None = None
    for phase in settings.week.phases:
        measure = aims.measure(phase.id, phase.weights)
        week.model.minimize(measure)
        if values is not None:
            _hint(week.model, values)
        solver = _solver(phase.deterministic_time, request.seed)
        status = solver.solve(week.model)
        if status == cp_model.INFEASIBLE:
            return Solution(False, (), tuple(phases))
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            phases.append(_phase(phase, "not reached in time", -1, 0))
            continue
        best = _Best(round(solver.objective_value), list(solver.response_proto.solution))
        bound = round(solver.best_objective_bound)
        if status == cp_model.FEASIBLE and phase.improvement_rounds:
            best = _improved(week, best, bound, phase, request.seed)
        proven = best.value <= bound
        phases.append(_phase(phase, "optimal" if proven else "feasible", best.value, bound))
        week.model.add(measure <= best.value + phase.keep_within)
        values = best.values
        if phase.id == last_phase:
            break
    return Solution(True, _chosen(week, values or []), tuple(phases))


@dataclass(frozen=True)
class _Best:
    value: int
    values: list[int]


def _improved(
    week: WeekModel, best: _Best, bound: int, phase: PhaseSettings, seed: int
) -> _Best:
    """Re-solves parts of the week with the rest held, until a whole round brings nothing."""
    for _ in range(phase.improvement_rounds):
        before = best.value
        for free in _neighbourhoods(week):
            if best.value <= bound:
                return best
            best = _resolved(week, best, free, phase, seed)
        if best.value == before:
            break
    return best


def _neighbourhoods(week: WeekModel) -> list[list[Place]]:
    """Parts worth re-solving alone: each pair of days (or the day), each region of the body."""
    days = week.layout.days
    pairs = list(zip(days, days[1:] + days[:1], strict=True)) if len(days) > 2 else []
    parts = [[place for place in week.places if place.day in pair] for pair in pairs]
    for regions in (("lower",), ("upper",), ("trunk", "lower")):
        parts.append([p for p in week.places if p.candidate.region in regions])
    return parts


def _resolved(
    week: WeekModel, best: _Best, free: list[Place], phase: PhaseSettings, seed: int
) -> _Best:
    model = week.model.clone()
    loose = {place.used.index for place in free}
    for place in week.places:
        if place.used.index not in loose:
            for variable in (place.used, *place.steps):
                held = model.get_int_var_from_proto_index(variable.index)
                model.add(held == best.values[variable.index])
    _hint(model, best.values)
    solver = _solver(phase.improvement_time, seed)
    status = solver.solve(model)
    value = round(solver.objective_value)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) and value < best.value:
        return _Best(value, list(solver.response_proto.solution))
    return best


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
    model.clear_hints()
    for index, value in enumerate(values):
        model.add_hint(model.get_int_var_from_proto_index(index), value)


def _phase(phase: PhaseSettings, status: str, value: int, bound: int) -> Phase:
    gap = 0.0 if value <= bound else 100.0 * (value - bound) / max(1, value)
    return Phase(phase.id, phase.title, phase.why, status, value, bound, round(gap, 1))


def _chosen(week: WeekModel, values: list[int]) -> tuple[Chosen, ...]:
    chosen = []
    for place in week.places:
        if values and values[place.used.index]:
            sets = place.least_sets + sum(values[step.index] for step in place.steps)
            chosen.append(Chosen(place.candidate, place.day, sets))
    return tuple(chosen)
