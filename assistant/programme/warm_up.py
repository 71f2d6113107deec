"""The way up to the working sets: easy movement first, then lighter sets of the lifts that need them.

Sets before a heavy or a bar lift have time of their own in the clock; those of other lifts are taken out of the
session's general warm-up, so a session is never longer for them.
"""

from __future__ import annotations

import dataclasses
import math

from assistant.model.documents.exercises import FULL_CREDIT, Exercise
from assistant.model.programme import Line, Session, WarmUpSet
from assistant.programme.catalogue import Catalogue
from assistant.programme.clock import ramp_sets, warm_up_seconds
from assistant.programme.prescribe import step_kg

TRUNK = "trunk"


def with_warm_up(session: Session, catalogue: Catalogue) -> Session:
    """Return the session with its warm-up, for the loads that stand in it.

    Besides heavy and bar lifts, the first loaded lift is worked up to, and each later big one whose prime
    movers no lift before it trained, as long as the general warm-up keeps its least time.
    """
    clock = catalogue.settings.clock
    general = warm_up_seconds(session.type, session.minutes_allowed, catalogue.settings)
    spare = max(0, general - clock.general_warm_up_at_least_s) // clock.ramp_set_s
    warmed: set[str] = set()
    is_first, lines = True, []
    for line in session.lines:
        exercise = catalogue.exercises[line.exercise]
        movers = {muscle for muscle, share in exercise.primary.items() if share >= FULL_CREDIT}
        sets: tuple[WarmUpSet, ...] = ()
        kind = catalogue.patterns[exercise.pattern].kind
        loaded = line.measure == "repetitions" and step_kg(exercise, catalogue) is not None
        # Trunk work is done with light loads and slowly; nobody works up to it.
        if loaded and kind != TRUNK:
            count = ramp_sets(exercise, kind, line.zone, catalogue.settings)
            if count:
                sets = _sets(line, exercise, count, catalogue)
            elif is_first or (kind == "compound" and warmed.isdisjoint(movers)):
                count = clock.ramp_sets_first_lift if is_first else clock.ramp_sets_new_muscles
                sets = _sets(line, exercise, min(spare, count), catalogue)
                spare -= len(sets)
                general -= len(sets) * clock.ramp_set_s
            is_first = False
        warmed |= movers
        lines.append(dataclasses.replace(line, warm_up=sets))
    return dataclasses.replace(session, lines=tuple(lines), warm_up_s=general)


def _sets(
    line: Line, exercise: Exercise, count: int, catalogue: Catalogue
) -> tuple[WarmUpSet, ...]:
    """Return so many rising sets below the working load; where that is unknown, by their share alone."""
    loads = catalogue.settings.loads
    step = step_kg(exercise, catalogue)
    assert step is not None  # asked by the caller
    empty = max((loads.empty_kg.get(piece, step) for piece in exercise.equipment), default=step)
    sets: list[WarmUpSet] = []
    before = 0.0
    for number in range(count):
        alone = 0.0 if line.load_kg is None else 0.5
        way = number / (count - 1) if count > 1 else alone
        percent = _between(loads.ramp_first_percent, loads.ramp_last_percent, way)
        repetitions = _between(loads.ramp_first_repetitions, loads.ramp_last_repetitions, way)
        if line.load_kg is None:
            sets.append(WarmUpSet(percent, repetitions, None))
            continue
        load = max(empty, step * math.floor(line.load_kg * percent / 100 / step + 0.5))
        if before < load < line.load_kg:
            sets.append(WarmUpSet(percent, repetitions, load))
            before = load
    return tuple(sets)


def _between(first: int, last: int, way: float) -> int:
    return math.floor(first + (last - first) * way + 0.5)
