"""What the limits in force take: exercises, repetition zones, long holds. The limits are data."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from assistant.model.documents.exercises import Exercise
from assistant.model.documents.limits import Limit

if TYPE_CHECKING:
    from assistant.programme.catalogue import Catalogue
    from assistant.programme.request import ProgrammeRequest


def in_force(request: ProgrammeRequest, catalogue: Catalogue) -> tuple[Limit, ...]:
    """The limits of the request, in the order of the rules."""
    return tuple(limit for name, limit in catalogue.limits.items() if name in request.limits)


def said(request: ProgrammeRequest, catalogue: Catalogue) -> tuple[str, ...]:
    """The lines of the limits in force; one that another covers needs no line of its own."""
    limits = in_force(request, catalogue)
    covered = {name for limit in limits for name in limit.covers}
    return tuple(limit.say for limit in limits if limit.id not in covered)


def barred_zones(request: ProgrammeRequest, catalogue: Catalogue) -> frozenset[str]:
    """Repetition zones in which nothing is planned; the limits in force add up."""
    return frozenset(zone for limit in in_force(request, catalogue) for zone in limit.zones)


def limit_against(
    exercise: Exercise, request: ProgrammeRequest, catalogue: Catalogue
) -> Limit | None:
    """The first limit in force that takes the exercise, or None if all of them leave it."""
    limits = in_force(request, catalogue)
    for limit in limits:
        if limit.takes(exercise):
            return limit
    barred = barred_zones(request, catalogue)
    if limits and barred.issuperset(exercise.rep_zones):
        return next(limit for limit in limits if set(limit.zones) & set(exercise.rep_zones))
    return None


def range_refused(
    exercise: Exercise, said: tuple[int, int], request: ProgrammeRequest, catalogue: Catalogue
) -> str:
    """Why the limits in force refuse a range said by hand; empty where they leave it.

    Under any limit a range stays within the printed zones that the limits leave.
    """
    if exercise.measure == "seconds":
        longest = request.longest_hold_s
        too_long = longest is not None and said[1] > longest
        return f"{exercise.name}: no hold over {longest} seconds" if too_long else ""
    limits, barred = in_force(request, catalogue), barred_zones(request, catalogue)
    zones = catalogue.settings.zones.repetitions
    left = [ends for zone, ends in zones.items() if zone not in barred]
    low, high = min(ends[0] for ends in left), max(ends[1] for ends in left)
    if not limits or low <= said[0] <= said[1] <= high:
        return ""
    return f"{', '.join(limit.say for limit in limits)}: repetitions stay from {low} to {high}"


def with_short_holds(catalogue: Catalogue, longest_hold_s: int | None) -> Catalogue:
    """The catalogue with holds of at most so many seconds; the same one where holds are free."""
    low, high = catalogue.settings.zones.hold_s
    if longest_hold_s is None or longest_hold_s >= high:
        return catalogue
    low = min(low, math.ceil(longest_hold_s / 2))
    zones = catalogue.settings.zones.model_copy(update={"hold_s": (low, longest_hold_s)})
    settings = catalogue.settings.model_copy(update={"zones": zones})
    return dataclasses.replace(catalogue, settings=settings)
