"""Plans a week by solving it; `kept.py` brings back one that was planned before."""

from __future__ import annotations

import dataclasses

from assistant.model.programme import Programme, Unmet
from assistant.programme.by_hand import by_hand, placed
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Layout
from assistant.programme.model import build_model
from assistant.programme.pool import Pool, build_pool, why_ruled_out
from assistant.programme.prescribe import in_training_order
from assistant.programme.remedies import with_remedies
from assistant.programme.request import Pin, ProgrammeRequest
from assistant.programme.sheet import as_lines, made_ready, written_out
from assistant.programme.solve import Solution, solve


def plan_week(
    request: ProgrammeRequest, catalogue: Catalogue, *, try_remedies: bool = True
) -> Programme:
    """Solves the week. Pure: the same request and catalogue give the same programme.

    Raises `ValueError` when the request names an exercise or muscle that the catalogue lacks.
    """
    ready = made_ready(request, catalogue)
    if isinstance(ready, Programme):
        return ready
    request, catalogue, layout = ready.request, ready.catalogue, ready.layout
    request, refused_pins = _without_refused_pins(request, catalogue)
    pool = build_pool(request.grown(), catalogue)
    solution, kept_pins, clashing = _solve_with_pins(request.grown(), pool, layout, catalogue)
    request = dataclasses.replace(request, pinned=kept_pins)
    chosen = in_training_order(solution.chosen, request)
    solved = as_lines(chosen, layout)
    chosen = placed(solved, by_hand(solved, request.hand, layout), pool, layout, request, catalogue)
    programme = written_out(chosen, pool, layout, request, catalogue)
    unmet = programme.unmet
    if try_remedies and request.later is None:
        unmet = with_remedies(unmet, request, layout, catalogue)
    return dataclasses.replace(
        programme,
        unmet=(*ready.put_aside, *refused_pins, *clashing, *unmet),
        phases=solution.phases,
    )


def _without_refused_pins(
    request: ProgrammeRequest, catalogue: Catalogue
) -> tuple[ProgrammeRequest, tuple[Unmet, ...]]:
    kept: list[Pin] = []
    refused: list[Unmet] = []
    for pin in request.pinned:
        against = why_ruled_out(catalogue.exercises[pin.exercise], request, catalogue)
        if against is None:
            kept.append(pin)
        else:
            refused.append(Unmet("pin", pin.exercise, 1, 0, against.why, ""))
    return dataclasses.replace(request, pinned=tuple(kept)), tuple(refused)


def _solve_with_pins(
    request: ProgrammeRequest, pool: Pool, layout: Layout, catalogue: Catalogue
) -> tuple[Solution, tuple[Pin, ...], tuple[Unmet, ...]]:
    """Solves; if the pins cannot all stand, the last ones named give way one by one."""
    clashing: list[Unmet] = []
    while True:
        week = build_model(request, pool, layout, catalogue.settings)
        placed = {(place.candidate.exercise.id, place.day.id) for place in week.places}
        homeless = [
            pin
            for pin in request.pinned
            if not any(e == pin.exercise and pin.day in (None, d) for e, d in placed)
        ]
        solution = solve(week, request, catalogue.settings) if not homeless else None
        if solution is not None and solution.feasible:
            return solution, request.pinned, tuple(clashing)
        dropped = homeless[0] if homeless else request.pinned[-1]
        why = "it cannot stand in that session with the day's type, the clock and the spacing"
        if not dropped.by_hand:
            remedy = "another day, or more minutes"
            clashing.append(Unmet("pin", dropped.exercise, 1, 0, why, remedy))
        kept = tuple(pin for pin in request.pinned if pin != dropped)
        request = dataclasses.replace(request, pinned=kept)
