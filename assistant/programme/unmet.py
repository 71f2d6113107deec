"""Finds what the week does not hold of what was asked, and says what gives way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.model.programme import MuscleWeek, Unmet
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Layout
from assistant.programme.portions import least_exercises, trains_group
from assistant.programme.request import ProgrammeRequest
from assistant.programme.solve import Chosen


def find_unmet(
    chosen: Iterable[Chosen],
    muscles: Iterable[MuscleWeek],
    reachable: frozenset[str],
    layout: Layout,
    request: ProgrammeRequest,
    catalogue: Catalogue,
) -> tuple[Unmet, ...]:
    """Lists gaps in order of weight: whole body first, then priorities, then targets."""
    lines, weeks = tuple(chosen), tuple(muscles)
    return (
        *_missing_days(lines, layout, catalogue),
        *_missing_families(lines, catalogue),
        *_floors(weeks, reachable, catalogue),
        *_priorities(lines, weeks, reachable, layout, request, catalogue),
        *_targets(weeks, reachable, catalogue),
        *_public_days(lines, layout, catalogue),
    )


def _missing_days(
    lines: tuple[Chosen, ...], layout: Layout, catalogue: Catalogue
) -> Iterable[Unmet]:
    for day in layout.days:
        count = sum(item.day == day for item in lines)
        least = least_exercises(day, catalogue.settings)
        if not count:
            why = f"{day.minutes} minutes as a {day.type} day hold no useful session"
            yield Unmet("empty_day", day.id, 1, 0, why, "")
        elif count < least:
            why = f"{day.id} holds only {count} of the {least} exercises that make a full session"
            yield Unmet("thin_day", day.id, least, count, why, "")


def _missing_families(lines: tuple[Chosen, ...], catalogue: Catalogue) -> Iterable[Unmet]:
    for family in catalogue.settings.week.families:
        if not any(item.candidate.exercise.pattern in family.patterns for item in lines):
            why = f"no {family.name} fits the kit, the joints and the minutes"
            yield Unmet("family", family.id, 1, 0, why, "")


def _floors(
    weeks: tuple[MuscleWeek, ...], reachable: frozenset[str], catalogue: Catalogue
) -> Iterable[Unmet]:
    for week in weeks:
        if week.sets < week.floor:
            asked = f"of the {week.floor:g} sets that keep a muscle"
            why = _gives_way(week, asked, reachable, catalogue)
            yield Unmet("floor", week.muscle, week.floor, week.sets, why, "")


def _priorities(
    lines: tuple[Chosen, ...],
    weeks: tuple[MuscleWeek, ...],
    reachable: frozenset[str],
    layout: Layout,
    request: ProgrammeRequest,
    catalogue: Catalogue,
) -> Iterable[Unmet]:
    others = [week for week in weeks if not week.priority]
    most = max(others, key=lambda week: week.sets, default=None)
    often = max(others, key=lambda week: week.sessions, default=None)
    by_muscle = {week.muscle: week for week in weeks}
    for muscle in request.priority_muscles:
        week, name = by_muscle[muscle], catalogue.muscles[muscle].plain_name
        why = _gives_way(week, f"of at least {week.low:g} useful sets", reachable, catalogue)
        if week.sets < week.low:
            yield Unmet("low", muscle, week.low, week.sets, why, "")
        wanted = min(request.target_sessions.get(muscle, 0), len(layout.days))
        if week.sessions < wanted:
            days = (
                f"{name}: {week.sessions} of {wanted} days; only so many of the "
                f"{len(layout.days)} training days have room or the type for it"
            )
            yield Unmet("sessions", muscle, wanted, week.sessions, days, "")
        for angle in catalogue.settings.week.angles.get(muscle, ()):
            sets = sum(i.sets for i in lines if i.candidate.exercise.pattern in angle.patterns)
            if sets < angle.needs_sets:
                short = f"{name}: {sets} of {angle.needs_sets} sets of {angle.name}"
                yield Unmet("angle", f"{muscle}:{angle.id}", angle.needs_sets, sets, short, "")
        if most is not None and week.sets <= most.sets:
            other = catalogue.muscles[most.muscle].plain_name
            reason = (
                f"{name}: {week.sets:g} sets and {other} {most.sets:g}, "
                "much of it as a helper in other lifts"
            )
            yield Unmet("lead", muscle, most.sets, week.sets, reason, "")
        if often is not None and week.sessions <= often.sessions:
            other = catalogue.muscles[often.muscle].plain_name
            reason = (
                f"{name}: no more days than {other} ({often.sessions}), as "
                f"{len(layout.days)} training days ask when the whole body is trained"
            )
            yield Unmet("lead_sessions", muscle, often.sessions + 1, week.sessions, reason, "")


def _targets(
    weeks: tuple[MuscleWeek, ...], reachable: frozenset[str], catalogue: Catalogue
) -> Iterable[Unmet]:
    for week in weeks:
        said = week.sets < week.floor or (week.priority and week.sets < week.low)
        if week.sets < week.target - catalogue.settings.limits.target_tolerance_sets and not said:
            why = _gives_way(week, f"of {week.target:g} sets", reachable, catalogue)
            yield Unmet("target", week.muscle, week.target, week.sets, why, "")


def _public_days(
    lines: tuple[Chosen, ...], layout: Layout, catalogue: Catalogue
) -> Iterable[Unmet]:
    public = catalogue.settings.week.public_minimum
    for group in public.groups:
        days = {i.day.id for i in lines if trains_group(i.candidate.exercise, group)}
        if lines and len(days) < public.days:
            asked = f"public guidance asks for {public.days} days a week"
            why = f"{group.name}: trained on {len(days)} of {len(layout.days)} days; {asked}"
            yield Unmet("public_days", group.id, public.days, len(days), why, "")


def _gives_way(
    week: MuscleWeek, asked: str, reachable: frozenset[str], catalogue: Catalogue
) -> str:
    name = catalogue.muscles[week.muscle].plain_name
    if week.muscle not in reachable:
        return f"no exercise with this kit and these joints trains the {name} well"
    return f"{name}: {week.sets:g} {asked}; the minutes go to what ranks before it"


def weekly_volume(
    chosen: Iterable[Chosen], muscles: Iterable[str]
) -> Mapping[tuple[str, str], float]:
    """Fractional sets by (muscle, day) for the chosen lines; days without any are left out."""
    totals: dict[tuple[str, str], float] = {}
    wanted = set(muscles)
    for item in chosen:
        for muscle, credit in item.candidate.exercise.credits.items():
            if muscle in wanted:
                key = (muscle, item.day.id)
                totals[key] = totals.get(key, 0.0) + credit * item.sets
    return totals


def muscle_weeks(
    volume: Mapping[tuple[str, str], float], request: ProgrammeRequest, catalogue: Catalogue
) -> tuple[MuscleWeek, ...]:
    """What each muscle with a target gets, beside what was asked; `volume` as `weekly_volume` gives."""
    counts_from = catalogue.settings.spacing.session_counts_from_sets
    weeks = []
    for muscle, aim in request.target_sets.items():
        days = [sets for (name, _), sets in volume.items() if name == muscle]
        weeks.append(
            MuscleWeek(
                muscle=muscle,
                sets=sum(days),
                sessions=sum(sets >= counts_from for sets in days),
                low=aim[0],
                target=aim[1],
                ceiling=aim[2],
                floor=request.floors_sets.get(muscle, 0.0),
                priority=muscle in request.priority_muscles,
            )
        )
    return tuple(weeks)
