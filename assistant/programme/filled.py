"""A week with its lines chosen, whoever chose them, beside what was asked of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from assistant.model.programme import MuscleWeek
from assistant.programme.catalogue import Catalogue
from assistant.programme.clock import exercise_seconds, warm_up_seconds
from assistant.programme.days import Day, Layout
from assistant.programme.pool import Candidate
from assistant.programme.request import ProgrammeRequest


@dataclass(frozen=True)
class Chosen:
    """One exercise on a day, with its sets."""

    candidate: Candidate
    day: Day
    sets: int


@dataclass(frozen=True)
class Filled:
    """A week with its lines chosen, beside what was asked of it.

    reachable: muscles that some exercise of the pool trains well.
    """

    chosen: tuple[Chosen, ...]
    reachable: frozenset[str]
    layout: Layout
    request: ProgrammeRequest
    catalogue: Catalogue

    @cached_property
    def volume(self) -> Mapping[tuple[str, str], float]:
        """Fractional sets by (muscle, day); days without any are left out."""
        totals: dict[tuple[str, str], float] = {}
        for item in self.chosen:
            for muscle, credit in item.candidate.exercise.credits.items():
                if muscle in self.request.target_sets:
                    key = (muscle, item.day.id)
                    totals[key] = totals.get(key, 0.0) + credit * item.sets
        return totals

    @cached_property
    def idle_minutes(self) -> Mapping[Day, float]:
        """Minutes of each training day that no line takes."""
        settings = self.catalogue.settings
        taken = dict.fromkeys(self.layout.days, 0.0)
        for item in self.chosen:
            taken[item.day] += exercise_seconds(item.candidate, item.sets, settings) / 60
        return {
            day: day.minutes - warm_up_seconds(day.type, day.minutes, settings) / 60 - minutes
            for day, minutes in taken.items()
        }

    @cached_property
    def muscles(self) -> tuple[MuscleWeek, ...]:
        """What each muscle with a target gets, beside what was asked."""
        request, settings = self.request, self.catalogue.settings
        weeks = []
        for muscle, aim in request.target_sets.items():
            days = [sets for (name, _), sets in self.volume.items() if name == muscle]
            counted = sum(sets >= settings.spacing.session_counts_from_sets for sets in days)
            floor = request.floors_sets.get(muscle, 0.0)
            first = muscle in request.priority_muscles
            weeks.append(MuscleWeek(muscle, sum(days), counted, *aim, floor, first))
        return tuple(weeks)

    def sets_for_itself(self, muscle: str) -> int:
        """Sets of the exercises that are there for a muscle and for no priority."""
        return sum(
            item.sets
            for item in self.chosen
            if item.candidate.exercise.is_there_for(muscle)
            and not any(map(item.candidate.exercise.is_there_for, self.request.priority_muscles))
        )

    def name(self, muscle: str) -> str:
        """A muscle in plain words."""
        return self.catalogue.muscles[muscle].plain_name
