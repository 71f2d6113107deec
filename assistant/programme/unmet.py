"""Finds what the week does not hold of what was asked, and says what gives way."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.model.programme import MuscleWeek, Unmet
from assistant.programme.filled import Filled
from assistant.programme.portions import least_exercises, trains_group


def find_unmet(week: Filled) -> tuple[Unmet, ...]:
    """Lists gaps in order of weight: whole body first, then priorities, then targets."""
    return (
        *_missing_days(week),
        *_missing_families(week),
        *_floors(week),
        *_priorities(week),
        *_targets(week),
        *_public_days(week),
    )


def _missing_days(week: Filled) -> Iterable[Unmet]:
    for day in week.layout.days:
        count = sum(item.day == day for item in week.chosen)
        least = least_exercises(day, week.catalogue.settings)
        if not count:
            why = f"{day.minutes} minutes as a {day.type} day hold no useful session"
            yield Unmet("empty_day", day.id, 1, 0, why, "")
        elif count < least:
            why = f"{day.id} holds only {count} of the {least} exercises that make a full session"
            yield Unmet("thin_day", day.id, least, count, why, "")


def _missing_families(week: Filled) -> Iterable[Unmet]:
    for family in week.catalogue.settings.week.families:
        if not any(item.candidate.exercise.pattern in family.patterns for item in week.chosen):
            why = f"no {family.name} fits the kit, the joints and the minutes"
            yield Unmet("family", family.id, 1, 0, why, "")


def _floors(week: Filled) -> Iterable[Unmet]:
    for got in week.muscles:
        if got.sets < got.floor:
            why = _gives_way(week, got, f"of the {got.floor:g} sets that keep a muscle")
            yield Unmet("floor", got.muscle, got.floor, got.sets, why, "")


def _priorities(week: Filled) -> Iterable[Unmet]:
    others = [got for got in week.muscles if not got.priority]
    most = max(others, key=lambda got: got.sets, default=None)
    often = max(others, key=lambda got: got.sessions, default=None)
    by_muscle = {got.muscle: got for got in week.muscles}
    trained = len(week.layout.days)
    for muscle in week.request.priority_muscles:
        got, name = by_muscle[muscle], week.name(muscle)
        why = _gives_way(week, got, f"of at least {got.low:g} useful sets")
        if got.sets < got.low:
            yield Unmet("low", muscle, got.low, got.sets, why, "")
        wanted = min(week.request.target_sessions.get(muscle, 0), trained)
        if got.sessions < wanted:
            days = (
                f"{name}: {got.sessions} of {wanted} days; only so many of the "
                f"{trained} training days have room or the type for it"
            )
            yield Unmet("sessions", muscle, wanted, got.sessions, days, "")
        for angle in week.catalogue.settings.week.angles.get(muscle, ()):
            sets = sum(
                i.sets for i in week.chosen if i.candidate.exercise.pattern in angle.patterns
            )
            if sets < angle.needs_sets:
                short = f"{name}: {sets} of {angle.needs_sets} sets of {angle.name}"
                yield Unmet("angle", f"{muscle}:{angle.id}", angle.needs_sets, sets, short, "")
        if most is not None and got.sets <= most.sets:
            other = week.name(most.muscle)
            reason = (
                f"{name}: {got.sets:g} sets and {other} {most.sets:g}, "
                "much of it as a helper in other lifts"
            )
            yield Unmet("lead", muscle, most.sets, got.sets, reason, "")
        if often is not None and got.sessions <= often.sessions:
            other = week.name(often.muscle)
            reason = (
                f"{name}: no more days than {other} ({often.sessions}), as "
                f"{trained} training days ask when the whole body is trained"
            )
            yield Unmet("lead_sessions", muscle, often.sessions + 1, got.sessions, reason, "")


def _targets(week: Filled) -> Iterable[Unmet]:
    tolerance = week.catalogue.settings.limits.target_tolerance_sets
    for got in week.muscles:
        said = got.sets < got.floor or (got.priority and got.sets < got.low)
        if got.sets < got.target - tolerance and not said:
            why = _gives_way(week, got, f"of {got.target:g} sets")
            yield Unmet("target", got.muscle, got.target, got.sets, why, "")


def _public_days(week: Filled) -> Iterable[Unmet]:
    public, trained = week.catalogue.settings.week.public_minimum, len(week.layout.days)
    for group in public.groups:
        days = {i.day.id for i in week.chosen if trains_group(i.candidate.exercise, group)}
        if week.chosen and len(days) < public.days:
            asked = f"public guidance asks for {public.days} days a week"
            why = f"{group.name}: trained on {len(days)} of {trained} days; {asked}"
            yield Unmet("public_days", group.id, public.days, len(days), why, "")


def _gives_way(week: Filled, got: MuscleWeek, asked: str) -> str:
    name = week.name(got.muscle)
    if got.muscle not in week.reachable:
        return f"no exercise with this kit and these joints trains the {name} well"
    return f"{name}: {got.sets:g} {asked}; the minutes go to what ranks before it"
