"""Tries what would buy back an unmet wish, cheapest first, by solving again."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from assistant.model.programme import Phase, Unmet
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Layout, lay_out
from assistant.programme.model import build_model
from assistant.programme.pool import build_pool
from assistant.programme.request import DAYS, ProgrammeRequest
from assistant.programme.settings import Settings
from assistant.programme.solve import solve

_WORTH_TRYING = ("empty_day", "thin_day", "family", "floor", "low", "sessions", "angle")
_LAST_PHASE = "priorities"


def with_remedies(
    unmet: tuple[Unmet, ...],
    phases: tuple[Phase, ...],
    request: ProgrammeRequest,
    layout: Layout,
    catalogue: Catalogue,
) -> tuple[Unmet, ...]:
    """Fills in the cheapest remedy that clears all heavy gaps, or the one that helps most.

    Only gaps of the whole body and of the priorities are tried. A remedy is only named after a
    second solve reached a better value with it.
    """
    if not any(item.kind in _WORTH_TRYING for item in unmet):
        return unmet
    quick = _quick_settings(catalogue.settings)
    now = tuple(phase.value for phase in phases[: _phases_compared(phases)])
    best: tuple[tuple[int, ...], str] | None = None
    for text, changed in _ideas(request, layout, catalogue):
        value = _value(changed, catalogue, quick)
        if value < now and (best is None or value < best[0]):
            best = (value, text)
        if not any(value):
            break
    if best is None:
        return unmet
    remedy = best[1] if not any(best[0]) else f"{best[1]} (helps, does not clear it all)"
    return tuple(
        dataclasses.replace(item, remedy=remedy) if item.kind in _WORTH_TRYING else item
        for item in unmet
    )


def _ideas(
    request: ProgrammeRequest, layout: Layout, catalogue: Catalogue
) -> Iterator[tuple[str, ProgrammeRequest]]:
    week = catalogue.settings.week
    for kind in week.remedy_order:
        if kind == "minutes":
            yield from _more_minutes(request, layout, week.remedy_minutes)
        elif kind == "equipment":
            yield from _more_kit(request, week.remedy_equipment)
        elif kind == "day":
            yield from _one_more_day(request)
        elif kind == "fewer_priorities" and len(request.priority_muscles) > 1:
            fewer = dataclasses.replace(request, priority_muscles=request.priority_muscles[:-1])
            yield "one priority fewer", fewer


def _more_minutes(
    request: ProgrammeRequest, layout: Layout, minutes: int
) -> Iterator[tuple[str, ProgrammeRequest]]:
    long_days = [day for day in layout.days if day.type != "short"] or list(layout.days)
    last = long_days[-1]
    longer = {**request.minutes_on, last.id: last.minutes + minutes}
    yield (
        f"{minutes} more minutes on {last.id}",
        dataclasses.replace(request, minutes_on=longer),
    )
    if len(long_days) > 1:
        all_longer = {day.id: day.minutes + minutes for day in long_days}
        yield (
            f"{minutes} more minutes on {', '.join(day.id for day in long_days)}",
            dataclasses.replace(request, minutes_on={**request.minutes_on, **all_longer}),
        )


def _more_kit(
    request: ProgrammeRequest, pieces: tuple[str, ...]
) -> Iterator[tuple[str, ProgrammeRequest]]:
    for piece in pieces:
        if piece not in request.equipment:
            yield (
                f"a {piece}",
                dataclasses.replace(request, equipment=request.equipment | {piece}),
            )
            return


def _one_more_day(request: ProgrammeRequest) -> Iterator[tuple[str, ProgrammeRequest]]:
    spare = [day for day in DAYS if day not in request.available_days]
    if not spare or request.day_types is not None or len(request.available_days) >= len(DAYS) - 1:
        return
    used = [DAYS.index(day) for day in request.available_days]
    furthest = max(
        spare,
        key=lambda day: min(
            min((DAYS.index(day) - u) % 7, (u - DAYS.index(day)) % 7) for u in used
        ),
    )
    days = tuple(sorted((*request.available_days, furthest), key=DAYS.index))
    yield "one more day a week", dataclasses.replace(request, available_days=days)


def _value(request: ProgrammeRequest, catalogue: Catalogue, quick: Settings) -> tuple[int, ...]:
    layout = lay_out(request, quick)
    week = build_model(request, build_pool(request, catalogue), layout, quick)
    phases: tuple[Phase, ...] = solve(week, request, quick, _LAST_PHASE).phases
    return tuple(phase.value for phase in phases)


def _phases_compared(phases: tuple[Phase, ...]) -> int:
    names = [phase.id for phase in phases]
    return names.index(_LAST_PHASE) + 1 if _LAST_PHASE in names else len(names)


def _quick_settings(settings: Settings) -> Settings:
    time = settings.week.remedy_search_time
    phases = tuple(
        dataclasses.replace(phase, deterministic_time=time) for phase in settings.week.phases
    )
    return dataclasses.replace(settings, week=dataclasses.replace(settings.week, phases=phases))
