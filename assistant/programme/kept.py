"""Keeps a planned week and brings it back as a whole programme, without solving anything."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from assistant.model.kept import KeptWeek, Misfit, Unfit
from assistant.model.programme import Programme
from assistant.programme.by_hand import Week, by_hand, placed
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Day, Layout
from assistant.programme.easing import eased
from assistant.programme.filled import Filled
from assistant.programme.overstepped import overstepped
from assistant.programme.pool import Pool, build_pool, why_ruled_out
from assistant.programme.portions import allowed_on
from assistant.programme.request import ProgrammeRequest
from assistant.programme.sheet import made_ready, written_out


def kept_of(programme: Programme, request: ProgrammeRequest) -> KeptWeek:
    """What was chosen in a programme made for the request; without days where none was made."""
    return KeptWeek(request.block_style, dict(programme.chosen))


def as_kept(kept: KeptWeek, request: ProgrammeRequest, catalogue: Catalogue) -> Programme | Misfit:
    """The kept week under what the request says now, in the kept style; or why it stands no longer.

    Where nothing may be trained at all, this is the same programme without sessions that a solve
    gives. Raises `ValueError` when the request or the style names what the catalogue lacks.
    """
    request = dataclasses.replace(request, block_style=kept.style)
    ready = made_ready(request, catalogue)
    if isinstance(ready, Programme):
        return ready
    request, catalogue, layout = ready.request, ready.catalogue, ready.layout
    pool, days = build_pool(request.grown(), catalogue), by_hand(kept.days, request.hand, layout)
    unfit = [*_lines_lost(days, pool, layout, request, catalogue)]
    if unfit:
        return Misfit(tuple(unfit))
    chosen = placed(kept.days, days, pool, layout, request, catalogue)
    now = eased(chosen, request, catalogue.settings.limits)
    unfit = [*_too_much(Filled(now, frozenset(), layout, request, catalogue), pool)]
    if unfit:
        return Misfit(tuple(unfit))
    programme = written_out(chosen, pool, layout, request, catalogue)
    return dataclasses.replace(programme, unmet=(*ready.put_aside, *programme.unmet))


def _lines_lost(
    days: Week, pool: Pool, layout: Layout, request: ProgrammeRequest, catalogue: Catalogue
) -> Iterator[Unfit]:
    """Lines whose exercise or day is no longer there for this client."""
    if not any(days.values()):
        yield Unfit("", "", "no session was kept")
    trained = {day.id: day for day in layout.days}
    for name, lines in days.items():
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
    if day is None or request.hand.wants(name, day.id):
        return ""
    if not allowed_on(pool.allowed[name], day, request, catalogue.settings):
        return f"{exercise.name} does not suit the type of the day ({day.type})"
    return ""


def _too_much(week: Filled, pool: Pool) -> Iterator[Unfit]:
    """Days with more than they hold now, and muscles with more than they are allowed now.

    What was changed by hand is not judged here: what that costs is said, and stands.
    """
    hand = week.request.hand
    for gap in overstepped(week, pool):
        what, _, where = gap.subject.partition(":")
        day = where.partition(":")[0]
        by_day = what in {"minutes", "session"} and not hand.touches(day)
        if by_day or (what == "week" and not hand.edits):
            yield Unfit(day if by_day else "", "", gap.why)
