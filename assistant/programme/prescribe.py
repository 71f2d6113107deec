"""From a chosen exercise to a line on the sheet: order, repetitions, reserve, rest and load."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.calculate.strength import e1rm, percent_of_1rm, round_down_to_step
from assistant.model.documents.exercises import FULL_CREDIT, HIGHEST_SKILL, Exercise
from assistant.programme.catalogue import Catalogue
from assistant.programme.clock import range_of
from assistant.programme.filled import Chosen
from assistant.programme.points import HIGH
from assistant.programme.pool import Candidate, why_ruled_out
from assistant.programme.request import ProgrammeRequest

_AXIAL_RANK = {"high": 0, "low": 1, "none": 2}


def in_training_order(chosen: Iterable[Chosen], request: ProgrammeRequest) -> tuple[Chosen, ...]:
    """Orders a session: priority big lifts, other big lifts, priority small lifts, others, trunk.

    Within a group high axial load comes first, then what serves the priority named first, then
    two-sided work before one-sided, then skill, then more rank points.
    """
    return tuple(sorted(chosen, key=lambda item: order_key(item.candidate, request)))


def order_key(candidate: Candidate, request: ProgrammeRequest) -> tuple[int | str, ...]:
    """What a session is ordered by: see `in_training_order`."""
    exercise = candidate.exercise
    serves = [
        place
        for place, muscle in enumerate(request.priority_muscles)
        if exercise.primary.get(muscle, 0.0) >= FULL_CREDIT
    ]
    group = {"compound": 0, "single_joint": 2, "trunk": 4}[candidate.kind]
    if not serves and candidate.kind != "trunk":
        group += 1
    return (
        group,
        exercise.axial_load != HIGH,
        serves[0] if serves else len(request.priority_muscles),
        exercise.unilateral,
        _AXIAL_RANK[exercise.axial_load],
        -exercise.skill,
        -candidate.score,
        exercise.id,
    )


def reserve(candidate: Candidate, request: ProgrammeRequest, catalogue: Catalogue) -> int:
    """Repetitions in reserve for an exercise: the rules' aim, more where failing costs most."""
    compound = candidate.kind == "compound"
    aim = request.rir_compound if compound else request.rir_single_joint
    exercise = candidate.exercise
    if exercise.axial_load == HIGH or exercise.skill == HIGHEST_SKILL:
        aim = max(aim, catalogue.settings.loads.spared_lifts_rir_at_least)
    return aim


def step_kg(
    exercise: Exercise, catalogue: Catalogue, kit: frozenset[str] | None = None
) -> float | None:
    """Smallest load step of the kit an exercise uses, or None where load is not in kilograms.

    Where it takes one piece or another, only what is in `kit` counts.
    """
    steps = catalogue.settings.loads.equipment_step_kg
    pieces = [
        *exercise.equipment,
        *(p for choice in exercise.equipment_any for p in choice if kit is None or p in kit),
    ]
    for piece in pieces:
        if piece in steps:
            return steps[piece]
    machine = any(piece.endswith(("_machine", "_station")) for piece in pieces)
    return steps["machine"] if machine else None


def load_for(
    candidate: Candidate, sets: int, rir: int, request: ProgrammeRequest, catalogue: Catalogue
) -> tuple[float | None, str]:
    """Starting load in kg, rounded down to the kit's step, and a note; None with the way to find it."""
    exercise, settings = candidate.exercise, catalogue.settings
    step = step_kg(exercise, catalogue, request.equipment)
    if exercise.measure == "seconds":
        return None, "hold or carry for the time printed"
    if step is None:
        return None, _body_weight_note(exercise, request, catalogue)
    top = request.known_top_sets.get(exercise.id)
    if top is None:
        return None, search_note(sets, rir, catalogue)
    low, high = range_of(candidate, settings)
    try:
        estimate = e1rm(top.load_kg, top.repetitions, top.rir)
        percent = percent_of_1rm((low + high) // 2, rir)
    except ValueError:
        return None, search_note(sets, rir, catalogue)
    load = round_down_to_step(estimate.value * percent / 100, step)
    if load <= 0:
        return None, search_note(sets, rir, catalogue)
    note = f"from {top.load_kg:g} kg x {top.repetitions} with {top.rir:g} in reserve"
    spread = f"{estimate.low:.1f} and {estimate.high:.1f} kg"
    return load, f"{note}; the equations put the maximum between {spread}"


def search_reserve(rir: int, catalogue: Catalogue) -> tuple[int, int]:
    """Repetitions in reserve where the search for a first load starts and where it stops.

    The first half of a block keeps more in reserve than the sheet says, and so does the search.
    """
    stop = rir + catalogue.settings.progression.rir_first_half_extra
    return max(catalogue.settings.loads.search_start_rir, stop + 1), stop


def search_note(sets: int, rir: int, catalogue: Catalogue) -> str:
    """How to find a first load within the sets of a line, in one sentence."""
    loads = catalogue.settings.loads
    start, stop = search_reserve(rir, catalogue)
    until = f"until {stop} {'is' if stop == 1 else 'are'} left"
    step = f"add about {loads.search_load_step_percent} % a"
    first = f"first session: start with a load that leaves {start} or more in reserve, "
    if sets == 1:
        return f"{first}{step} session {until}; stop there if form slips"
    within = min(sets, loads.search_sets)
    return f"{first}{step} set {until}, within {within} sets; stop there if form slips"


def _body_weight_note(exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue) -> str:
    harder = [catalogue.exercises[name] for name in exercise.progressions]
    free = [other.name for other in harder if why_ruled_out(other, request, catalogue) is None]
    then = f"; next step: {free[0]}" if free else ""
    return f"no load in kilograms: add repetitions up to the top of the range, evenly paced{then}"
