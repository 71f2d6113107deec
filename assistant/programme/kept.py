"""Keeps a planned week and brings it back as a whole programme, without solving anything."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from assistant.model.kept import KeptWeek, Misfit, Unfit
from assistant.model.programme import Programme
from assistant.programme.catalogue import Catalogue
from assistant.programme.clock import exercise_seconds, warm_up_seconds
from assistant.programme.days import Day, Layout, lay_out
from assistant.programme.easing import eased
from assistant.programme.filled import Chosen, Filled
from assistant.programme.limits import with_short_holds
from assistant.programme.pool import Pool, build_pool, why_ruled_out
from assistant.programme.portions import allowed_on
from assistant.programme.request import ProgrammeRequest
from assistant.programme.sheet import refusal, written_out

# Sets come in quarters; a sum of quarters must not tip over a limit by rounding noise.
_SLACK = 1e-9


def kept_of(programme: Programme, request: ProgrammeRequest) -> KeptWeek:
    """What was chosen in a programme made for the request; without days where none was made."""
    return KeptWeek(request.block_style, dict(programme.chosen))


def as_kept(kept: KeptWeek, request: ProgrammeRequest, catalogue: Catalogue) -> Programme | Misfit:
    """The kept week under what the request says now, in the kept style; or why it stands no longer.

    Where nothing may be trained at all, this is the same programme without sessions that a solve
    gives. Raises `ValueError` when the request or the style names what the catalogue lacks.
    """
    request = dataclasses.replace(request, block_style=kept.style)
    request.check_against(catalogue.exercises, catalogue.muscles, catalogue.limits)
    catalogue = with_short_holds(catalogue, request.longest_hold_s)
    refused = refusal(request, catalogue)
    if refused is not None:
        return refused
    layout, pool = lay_out(request, catalogue.settings), build_pool(request.grown(), catalogue)
    unfit = [*_lines_lost(kept, pool, layout, request, catalogue)]
    if unfit:
        return Misfit(tuple(unfit))
    chosen = tuple(
        Chosen(pool.allowed[line.exercise], day, line.sets)
        for day in layout.days
        for line in kept.days.get(day.id, ())
    )
    now = eased(chosen, request)
    unfit = [*_too_much(Filled(now, frozenset(), layout, request, catalogue))]
    return Misfit(tuple(unfit)) if unfit else written_out(chosen, pool, layout, request, catalogue)


def _lines_lost(
    kept: KeptWeek, pool: Pool, layout: Layout, request: ProgrammeRequest, catalogue: Catalogue
) -> Iterator[Unfit]:
    """Lines whose exercise or day is no longer there for this client."""
    if not any(kept.days.values()):
        yield Unfit("", "", "no session was kept")
    trained = {day.id: day for day in layout.days}
    for name, lines in kept.days.items():
        day = trained.get(name)
        if lines and day is None:
            yield Unfit(name, "", f"{name} is no training day any more")
        for line in lines:
            against = _why_lost(line.exercise, day, pool, request, catalogue)
            if against:
                yield Unfit(name, line.exercise, against)


def _why_lost(
    name: str, day: Day | None, pool: Pool, request: ProgrammeRequest, catalogue: Catalogue
) -> str:
    exercise = catalogue.exercises.get(name)
    if exercise is None:
        return f"`{name}` is no exercise of the rule book any more"
    against = why_ruled_out(exercise, request, catalogue)
    if against is not None:
        return against.why
    if day is not None and not allowed_on(pool.allowed[name], day, request, catalogue.settings):
        return f"{exercise.name} is not for a {day.type} day"
    return ""


def _too_much(week: Filled) -> Iterator[Unfit]:
    """Days with more than they hold now, and muscles with more than they are allowed now."""
    settings, cap = week.catalogue.settings, week.request.session_cap_sets.hard
    for day in week.layout.days:
        seconds = warm_up_seconds(day.type, day.minutes, settings) + sum(
            exercise_seconds(item.candidate, item.sets, settings)
            for item in week.chosen
            if item.day == day
        )
        if seconds > day.minutes * 60:
            yield Unfit(day.id, "", f"takes {seconds / 60:.0f} of {day.minutes} minutes")
    for (muscle, name), sets in week.volume.items():
        if sets > cap + _SLACK:
            yield Unfit(
                name, "", f"{week.name(muscle)}: {sets:g} sets, {cap:g} are the most a session"
            )
    for got in week.muscles:
        if got.sets > got.ceiling + _SLACK:
            why = f"{week.name(got.muscle)}: {got.sets:g} sets a week, {got.ceiling:g} are the most"
            yield Unfit("", "", why)
