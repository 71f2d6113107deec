"""Writes a week out: from exercises chosen for days to the sessions, doses, reasons and gaps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.model.kept import KeptLine
from assistant.model.programme import Line, Programme, Session, Unmet
from assistant.programme.account import binding_limits, not_chosen, reason_for
from assistant.programme.by_hand import notes_of, said_for_nothing, with_what_holds
from assistant.programme.catalogue import Catalogue
from assistant.programme.clock import exercise_seconds, range_of, warm_up_seconds
from assistant.programme.days import Layout, lay_out
from assistant.programme.easing import eased
from assistant.programme.filled import Chosen, Filled
from assistant.programme.limits import in_force, said, with_short_holds
from assistant.programme.overstepped import overstepped
from assistant.programme.pool import Pool
from assistant.programme.portions import reachable
from assistant.programme.prescribe import load_for, reserve
from assistant.programme.request import ProgrammeRequest
from assistant.programme.substitutes import substitutes_for
from assistant.programme.unmet import find_unmet
from assistant.programme.warm_up import with_warm_up

# Few sets at first are meant; only what the week lacks altogether is worth a word then.
_WORTH_A_WORD_AT_FIRST = ("over", "empty_day", "family")


@dataclass(frozen=True)
class Ready:
    """A request that a week can be made for, with the edits by hand that hold, and those put aside."""

    request: ProgrammeRequest
    catalogue: Catalogue
    layout: Layout
    put_aside: tuple[Unmet, ...]


def made_ready(request: ProgrammeRequest, catalogue: Catalogue) -> Ready | Programme:
    """The request ready to be solved or filled; where nothing may be trained, a programme saying so.

    Raises `ValueError` when the request names what the catalogue lacks.
    """
    request.check_against(catalogue.exercises, catalogue.muscles, catalogue.limits)
    catalogue = with_short_holds(catalogue, request.longest_hold_s)
    refused = _refusal(request, catalogue)
    if refused is not None:
        return refused
    layout = lay_out(request, catalogue.settings)
    request, put_aside = with_what_holds(request, layout, catalogue)
    return Ready(request, catalogue, layout, put_aside)


def written_out(
    chosen: Iterable[Chosen],
    pool: Pool,
    layout: Layout,
    request: ProgrammeRequest,
    catalogue: Catalogue,
) -> Programme:
    """The whole programme of the lines chosen, each day's in the order given; solves nothing."""
    lines = tuple(chosen)
    now = eased(lines, request, catalogue.settings.limits)
    trained = reachable(pool, layout, request, catalogue.settings)
    week = Filled(now, trained, layout, request, catalogue)
    sessions = _sessions(week, pool)
    unmet = (*overstepped(week, pool), *find_unmet(week))
    if request.later is not None:
        unmet = tuple(gap for gap in unmet if gap.kind in _WORTH_A_WORD_AT_FIRST)
    return Programme(
        sessions=sessions,
        muscles=week.muscles,
        unmet=(*unmet, *said_for_nothing(lines, request.hand, catalogue)),
        phases=(),
        not_chosen=not_chosen(now, pool),
        binding=binding_limits(sessions, week),
        notes=_notes(request, catalogue),
        day_types={day.id: day.type for day in layout.days},
        shape_reason=layout.reason,
        chosen=as_lines(lines, layout),
    )


def as_lines(chosen: Iterable[Chosen], layout: Layout) -> dict[str, tuple[KeptLine, ...]]:
    """The lines of each training day in the order given, as they are kept."""
    lines = tuple(chosen)
    return {
        day.id: tuple(
            KeptLine(item.candidate.exercise.id, item.sets) for item in lines if item.day == day
        )
        for day in layout.days
    }


def _refusal(request: ProgrammeRequest, catalogue: Catalogue) -> Programme | None:
    """A programme without sessions and its reason where no week can be made at all, or None."""
    for limit in in_force(request, catalogue):
        if limit.sessions:
            help_text = "a week can be made as soon as the screen allows lifting"
            return without_sessions(Unmet("refused", limit.id, 1, 0, limit.say, help_text))
    if not (request.available_days if request.day_types is None else request.day_types):
        why = "no day of the week is free for training"
        return without_sessions(Unmet("refused", "available_days", 1, 0, why, "name one free day"))
    return None


def without_sessions(unmet: Unmet) -> Programme:
    """Return a programme that holds no session, and why."""
    return Programme((), (), (unmet,), (), (), (), (unmet.why,), {}, "")


def _sessions(week: Filled, pool: Pool) -> tuple[Session, ...]:
    settings = week.catalogue.settings
    sessions = []
    for day in week.layout.days:
        today = [item for item in week.chosen if item.day == day]
        if not today:
            continue
        names = frozenset(item.candidate.exercise.id for item in today)
        lines = tuple(
            _line(order, item, week, pool, names) for order, item in enumerate(today, start=1)
        )
        seconds = warm_up_seconds(day.type, day.minutes, settings)
        minutes = round((seconds + sum(line.seconds for line in lines)) / 60, 1)
        session = Session(day.id, day.type, minutes, day.minutes, lines)
        sessions.append(with_warm_up(session, week.catalogue))
    return tuple(sessions)


def _line(order: int, item: Chosen, week: Filled, pool: Pool, today: frozenset[str]) -> Line:
    candidate, exercise = item.candidate, item.candidate.exercise
    request, catalogue = week.request, week.catalogue
    low, high = range_of(candidate, catalogue.settings)
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
        substitutes=substitutes_for(candidate, pool.allowed, today, request, catalogue.settings),
        by_hand=notes_of(exercise.id, item.day.id, request.hand, catalogue),
    )


def _notes(request: ProgrammeRequest, catalogue: Catalogue) -> tuple[str, ...]:
    notes = list(said(request, catalogue))
    for joint in sorted(request.sore_joints | request.resting_joints):
        name = joint.replace("_", " ")
        rests = joint in request.resting_joints
        what = f"everything that loads the {name}" if rests else f"what strains the {name} most"
        notes.append(f"{what} is left out until it is settled")
    return tuple(notes)
