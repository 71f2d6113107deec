"""What the limits in force take: exercises, repetition zones, long holds. The limits are data."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assistant.programme.trade import Exercise

if TYPE_CHECKING:
    from assistant.programme.catalogue import Catalogue
    from assistant.programme.request import ProgrammeRequest


@dataclass(frozen=True)
class Limit:
    """What one limit takes out of the pool of exercises, and the line that says so.

    An exercise that matches any of the lists is taken. `zones` are repetition zones nothing is
    planned in. `sessions` true: no lifting session at all. `mark` and `why` say what it rests on.
    """

    id: str
    say: str
    mark: str
    why: str
    sessions: bool = False
    flags: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    axial_loads: tuple[str, ...] = ()
    measures: tuple[str, ...] = ()
    equipment: tuple[str, ...] = ()
    exercises: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    skill_from: int | None = None
    covers: tuple[str, ...] = ()

    def takes(self, exercise: Exercise) -> bool:
        """True if the exercise itself is taken, whatever zone it would be planned in."""
        kits = [{piece} for piece in exercise.equipment]
        kits += [set(choice) for choice in exercise.equipment_any]
        return (
            exercise.id in self.exercises
            or exercise.pattern in self.patterns
            or exercise.position in self.positions
            or exercise.axial_load in self.axial_loads
            or exercise.measure in self.measures
            or any(flag in self.flags for flag in exercise.flags)
            or any(kit <= set(self.equipment) for kit in kits)
            or (self.skill_from is not None and exercise.skill >= self.skill_from)
        )


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


def with_short_holds(catalogue: Catalogue, longest_hold_s: int | None) -> Catalogue:
    """The catalogue with holds of at most so many seconds; the same one where holds are free."""
    low, high = catalogue.settings.zones.hold_s
    if longest_hold_s is None or longest_hold_s >= high:
        return catalogue
    low = min(low, math.ceil(longest_hold_s / 2))
    zones = dataclasses.replace(catalogue.settings.zones, hold_s=(low, longest_hold_s))
    settings = dataclasses.replace(catalogue.settings, zones=zones)
    return dataclasses.replace(catalogue, settings=settings)
