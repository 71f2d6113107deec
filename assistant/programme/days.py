"""Which of the free days are trained, and as what."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.documents.week_settings import Settings, Shape
from assistant.programme.request import DAYS, ProgrammeRequest

_SHORT = "short"


@dataclass(frozen=True)
class Day:
    """A training day: its place in the week (Monday 0), type and minutes."""

    id: str
    index: int
    type: str
    minutes: int


@dataclass(frozen=True)
class Layout:
    """The training days in week order, and why the week has this shape."""

    days: tuple[Day, ...]
    reason: str

    def neighbours(self) -> tuple[tuple[Day, Day], ...]:
        """Pairs of training days that follow each other, Sunday to Monday included."""
        by_index = {day.index: day for day in self.days}
        return tuple(
            (day, by_index[(day.index + 1) % 7])
            for day in self.days
            if (day.index + 1) % 7 in by_index and len(self.days) > 1
        )


def lay_out(request: ProgrammeRequest, settings: Settings) -> Layout:
    """Takes the day types decided upstream, or chooses the shape and days that space best."""
    if request.day_types is not None:
        types: Mapping[str, str] = dict(request.day_types)
        reason = "the day types were set by the rules"
    else:
        types, reason = _choose(request, settings)
    days = [
        Day(day, DAYS.index(day), types[day], _minutes(request, day, types[day]))
        for day in DAYS
        if day in types
    ]
    return Layout(tuple(days), reason)


def _minutes(request: ProgrammeRequest, day: str, day_type: str) -> int:
    usual = request.minutes_per_session
    if day_type == _SHORT:
        usual = min(usual, request.short_minutes)
    return request.minutes_on.get(day, usual)


def _choose(request: ProgrammeRequest, settings: Settings) -> tuple[Mapping[str, str], str]:
    free = tuple(sorted(request.available_days, key=DAYS.index))
    best: tuple[tuple[int, ...], dict[str, str], Shape] | None = None
    for rank, shape in enumerate(settings.week.shapes):
        if len(shape.types) > len(free):
            continue
        for days in itertools.combinations(free, len(shape.types)):
            cost = _cost(days, shape, rank, request)
            if best is None or cost < best[0]:
                best = (cost, dict(zip(days, shape.types, strict=True)), shape)
    if best is None:
        return {}, "no day is free"
    return best[1], best[2].why


def _cost(
    days: tuple[str, ...], shape: Shape, rank: int, request: ProgrammeRequest
) -> tuple[int, ...]:
    """Fewer clashes between like hard days first, then more time used, then even spacing."""
    place = [DAYS.index(day) for day in days]
    clashes = 0
    for (first, type_a), (second, type_b) in itertools.permutations(
        zip(place, shape.types, strict=True), 2
    ):
        if (first + 1) % 7 == second and len(days) > 1 and _share_muscles(type_a, type_b):
            clashes += 1
    has_aims = bool(request.priority_muscles)
    idle = 0 if has_aims else sum(kind in (_SHORT, "priority") for kind in shape.types)
    unused = len(request.available_days) - len(days)
    gaps = sorted(
        ((later - earlier) % 7) or 7
        for earlier, later in zip(place, place[1:] + place[:1], strict=True)
    )
    return (clashes, idle, unused, -gaps[0], rank, *place)


def _share_muscles(first: str, second: str) -> bool:
    if _SHORT in (first, second):
        return False
    return first == second or "full" in (first, second) or "priority" in (first, second)
