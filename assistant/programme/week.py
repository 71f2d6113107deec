"""Plans a week: the one entry to this room."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.programme import Line, Programme, Session, Unmet
from assistant.programme.account import binding_limits, not_chosen, reason_for
from assistant.programme.catalogue import Catalogue
from assistant.programme.clock import exercise_seconds, planned_range, warm_up_seconds
from assistant.programme.days import Layout, lay_out
from assistant.programme.easing import eased
from assistant.programme.limits import in_force, said, with_short_holds
from assistant.programme.model import build_model
from assistant.programme.pool import Pool, build_pool, why_ruled_out
from assistant.programme.prescribe import in_training_order, load_for, reserve
from assistant.programme.remedies import with_remedies
from assistant.programme.request import Pin, ProgrammeRequest
from assistant.programme.solve import Chosen, Solution, in_sets_short, solve
from assistant.programme.substitutes import substitutes_for
from assistant.programme.unmet import Filled, find_unmet


def plan_week(
    request: ProgrammeRequest, catalogue: Catalogue, *, try_remedies: bool = True
) -> Programme:
    """Solves the week. Pure: the same request and catalogue give the same programme.

    Raises `ValueError` when the request names an exercise or muscle that the catalogue lacks.
    """
    request.check_against(catalogue.exercises, catalogue.muscles, catalogue.limits)
    catalogue = with_short_holds(catalogue, request.longest_hold_s)
    refusal = _refusal(request, catalogue)
    if refusal is not None:
        return refusal
    request, refused_pins = _without_refused_pins(request, catalogue)
    layout = lay_out(request, catalogue.settings)
    pool = build_pool(request.grown(), catalogue)
    solution, reachable, kept_pins, clashing = _solve_with_pins(
        request.grown(), pool, layout, catalogue
    )
    request = dataclasses.replace(request, pinned=kept_pins)
    chosen = eased(solution.chosen, request)
    week = Filled(chosen, reachable, layout, request, catalogue)
    sessions = _sessions(week, pool)
    unmet = find_unmet(week)
    if request.later is not None:
        # Few sets at first are meant; only what the week lacks altogether is worth a word.
        unmet = tuple(gap for gap in unmet if gap.kind in _WORTH_A_WORD_AT_FIRST)
    elif try_remedies:
        unmet = with_remedies(unmet, request, layout, catalogue)
    return Programme(
        sessions=sessions,
        muscles=week.muscles,
        unmet=(*refused_pins, *clashing, *unmet),
        phases=solution.phases,
        not_chosen=not_chosen(chosen, pool),
        binding=binding_limits(sessions, week),
        notes=_notes(request, catalogue),
        day_types={day.id: day.type for day in layout.days},
        shape_reason=layout.reason,
    )


_WORTH_A_WORD_AT_FIRST = ("empty_day", "family")


@dataclass(frozen=True)
class PinPrice:
    """What forcing an exercise or day costs: both weeks, and by how much each phase is worse.

    `worse_words` says the first phase that is worse in sets; those after it cannot be compared.
    """

    free: Programme
    forced: Programme
    worse_by: Mapping[str, int]
    worse_words: Mapping[str, str]


def price_of_pin(request: ProgrammeRequest, catalogue: Catalogue, pin: Pin) -> PinPrice:
    """Solves the week with and without the pin and compares the phases (positive is worse).

    The forced week starts from the free one, so that only what the pin costs is moved.
    """
    free = plan_week(request, catalogue, try_remedies=False)
    stands: dict[str, set[str]] = {}
    for session in free.sessions:
        for line in session.lines:
            stands.setdefault(line.exercise, set()).add(session.day)
    pinned = dataclasses.replace(
        request,
        pinned=(*request.pinned, pin),
        previous_days={name: frozenset(days) for name, days in stands.items()},
    )
    forced = plan_week(pinned, catalogue, try_remedies=False)
    before = {phase.id: phase.value for phase in free.phases}
    worse = {phase.id: phase.value - before.get(phase.id, 0) for phase in forced.phases}
    words: dict[str, str] = {}
    for phase in catalogue.settings.week.phases:
        points = worse.get(phase.id, 0)
        words[phase.id] = "no worse"
        if points > 0 and phase.id != "quality":
            words[phase.id] = f"worse by as much as {in_sets_short(phase, points)}"
            break
        if phase.id == "quality" and points > 0:
            words[phase.id] = f"{points} rank points worse over the whole week"
    return PinPrice(free, forced, worse, words)


def _refusal(request: ProgrammeRequest, catalogue: Catalogue) -> Programme | None:
    for limit in in_force(request, catalogue):
        if limit.sessions:
            help_text = "a week can be made as soon as the screen allows lifting"
            return _empty(Unmet("refused", limit.id, 1, 0, limit.say, help_text))
    if not (request.available_days if request.day_types is None else request.day_types):
        why = "no day of the week is free for training"
        return _empty(Unmet("refused", "available_days", 1, 0, why, "name one free day"))
    return None


def _empty(unmet: Unmet) -> Programme:
    return Programme((), (), (unmet,), (), (), (), (unmet.why,), {}, "")


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
) -> tuple[Solution, frozenset[str], tuple[Pin, ...], tuple[Unmet, ...]]:
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
            return solution, week.reachable, request.pinned, tuple(clashing)
        dropped = homeless[0] if homeless else request.pinned[-1]
        why = "it cannot stand in that session with the day's type, the clock and the spacing"
        clashing.append(Unmet("pin", dropped.exercise, 1, 0, why, "another day, or more minutes"))
        kept = tuple(pin for pin in request.pinned if pin != dropped)
        request = dataclasses.replace(request, pinned=kept)


def _sessions(week: Filled, pool: Pool) -> tuple[Session, ...]:
    settings = week.catalogue.settings
    sessions = []
    for day in week.layout.days:
        today = in_training_order((i for i in week.chosen if i.day == day), week.request)
        if not today:
            continue
        names = frozenset(item.candidate.exercise.id for item in today)
        lines = tuple(
            _line(order, item, week, pool, names) for order, item in enumerate(today, start=1)
        )
        seconds = warm_up_seconds(day.type, day.minutes, settings)
        minutes = round((seconds + sum(line.seconds for line in lines)) / 60, 1)
        sessions.append(Session(day.id, day.type, minutes, day.minutes, lines))
    return tuple(sessions)


def _line(order: int, item: Chosen, week: Filled, pool: Pool, today: frozenset[str]) -> Line:
    candidate, exercise = item.candidate, item.candidate.exercise
    request, catalogue = week.request, week.catalogue
    low, high = planned_range(exercise, candidate.zone, catalogue.settings)
    rir = reserve(candidate, request, catalogue)
    load, note = load_for(candidate, item.sets, rir, request, catalogue)
    return Line(
        order=order,
        exercise=exercise.id,
        name=exercise.name,
        sets=item.sets,
        measure=exercise.measure,
        low=low,
        high=high,
        rir=rir,
        rest_s=exercise.rest_s,
        zone=candidate.zone,
        load_kg=load,
        load_note=note,
        seconds=exercise_seconds(candidate, item.sets, catalogue.settings),
        reason=reason_for(item, request, catalogue, pool),
        substitutes=substitutes_for(candidate, pool.allowed, today),
    )


def _notes(request: ProgrammeRequest, catalogue: Catalogue) -> tuple[str, ...]:
    notes = list(said(request, catalogue))
    if request.sore_joints:
        joints = " and ".join(sorted(joint.replace("_", " ") for joint in request.sore_joints))
        notes.append(f"everything that loads the {joints} is left out until it is settled")
    return tuple(notes)
