"""Finds what the week does not hold of what was asked, and says what gives way."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from assistant.model.documents.week_settings import Family
from assistant.model.programme import MuscleWeek, Unmet
from assistant.programme.days import Day
from assistant.programme.filled import Filled
from assistant.programme.pool import why_ruled_out
from assistant.programme.portions import least_exercises, session_size, trains_group

# A gap of half a set or less is no number to say.
JUST_UNDER = 0.5
# Minutes of a day in which one more line of three sets would find room.
ROOM_FOR_A_LINE = 9
ROOM_FOR_A_SET = 4
SHORT = "short"


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
            stands_against = _stands_against(week, family)
            why = f"no {family.name} can be done {stands_against}"
            if not stands_against:
                why = f"no {family.name} in the week: {_why_no_more(week, ())}"
            yield Unmet("family", family.id, 1, 0, why, "")


def _stands_against(week: Filled, family: Family) -> str:
    """Say why no exercise of a kind can be done; empty where one can."""
    kind = [e for e in week.catalogue.exercises.values() if e.pattern in family.patterns]
    refusals = [why_ruled_out(exercise, week.request, week.catalogue) for exercise in kind]
    if None in refusals:
        return ""
    untold = {
        week.catalogue.abilities[exercise.needs_ability]
        for exercise, refusal in zip(kind, refusals, strict=True)
        if exercise.needs_ability and refusal is not None and refusal.cause == "ability"
    }
    if untold:
        return f"while nobody has said that {' or '.join(sorted(untold))} go well"
    return "with this kit and these joints"


def _floors(week: Filled) -> Iterable[Unmet]:
    for got in week.muscles:
        if got.sets < got.floor:
            why = _gives_way(week, got, got.floor, "that keep a muscle")
            yield Unmet("floor", got.muscle, got.floor, got.sets, why, "")


def _priorities(week: Filled) -> Iterable[Unmet]:
    others = [got.muscle for got in week.muscles if not got.priority]
    most = max((week.sets_for_itself(name), name) for name in others) if others else None
    by_muscle = {got.muscle: got for got in week.muscles}
    trained = len(week.layout.days)
    for muscle in week.request.priority_muscles:
        got, name = by_muscle[muscle], week.name(muscle)
        if got.sets < got.low:
            why = _gives_way(week, got, got.low, "it should have at least")
            yield Unmet("low", muscle, got.low, got.sets, why, "")
        wanted = min(week.request.target_sessions.get(muscle, 0), trained)
        if got.sessions < wanted:
            days = (
                f"{name}: {got.sessions} of {wanted} days; only so many of the "
                f"{trained} training days have room or the type for it"
            )
            yield Unmet("sessions", muscle, wanted, got.sessions, days, "")
        for angle in week.catalogue.settings.week.angles_of(muscle, trained):
            sets = sum(
                i.sets for i in week.chosen if i.candidate.exercise.pattern in angle.patterns
            )
            if sets < angle.needs_sets:
                short = f"{name}: {sets} of {angle.needs_sets} sets of {angle.name}"
                if stands_against := _stands_against(week, angle):
                    short += f", which cannot be done {stands_against}"
                yield Unmet("angle", f"{muscle}:{angle.id}", angle.needs_sets, sets, short, "")
        if most is not None and got.sets <= most[0]:
            reason = f"{name}: {got.sets:g} sets, no more than {week.name(most[1])} with {most[0]}"
            yield Unmet("lead", muscle, most[0], got.sets, reason, "")


def _targets(week: Filled) -> Iterable[Unmet]:
    tolerance = week.catalogue.settings.limits.target_tolerance_sets
    short = [
        got
        for got in week.muscles
        if got.sets < got.target - tolerance
        and got.sets >= got.floor
        and not (got.priority and got.sets < got.low)
    ]
    for group in (
        [got for got in short if got.priority],
        [got for got in short if not got.priority],
    ):
        able = [got for got in group if got.muscle in week.reachable]
        together = _together(week, able) if len(able) > 1 else ""
        for got in group:
            why = _gives_way(week, got, got.target, "aimed at")
            yield Unmet(
                "target",
                got.muscle,
                got.target,
                got.sets,
                why,
                "",
                together=together if got in able else "",
            )


def _public_days(week: Filled) -> Iterable[Unmet]:
    public, trained = week.catalogue.settings.week.public_minimum, len(week.layout.days)
    for group in public.groups:
        days = {i.day.id for i in week.chosen if trains_group(i.candidate.exercise, group)}
        if week.chosen and len(days) < public.days:
            asked = f"public guidance asks for {public.days} days a week"
            why = f"{group.name}: trained on {len(days)} of {trained} days; {asked}"
            yield Unmet("public_days", group.id, public.days, len(days), why, "")


def _gives_way(week: Filled, got: MuscleWeek, wanted: float, meant: str) -> str:
    """Says it in whole and half sets: nobody can do a quarter of one."""
    name = week.name(got.muscle)
    if got.muscle not in week.reachable:
        return f"no exercise with this kit and these joints trains the {name} well"
    count = f"the {wanted:g} sets a week {meant}"
    near = wanted - got.sets <= JUST_UNDER
    share = f"just under {count}" if near else f"{_in_halves(got.sets)} of {count}"
    first = [week.name(m) for m in week.request.priority_muscles if m != got.muscle]
    return f"{name}: {share}; {_why_no_more(week, () if got.priority else first)}"


def _together(week: Filled, short: Sequence[MuscleWeek]) -> str:
    counts = ", ".join(
        f"{week.name(got.muscle)} {_in_halves(got.sets)} of {got.target:g}" for got in short
    )
    first = () if short[0].priority else map(week.name, week.request.priority_muscles)
    return f"sets a week under what was aimed at: {counts}; {_why_no_more(week, first)}"


def _in_halves(sets: float) -> str:
    return f"{math.floor(sets * 2) / 2:g}"


def _why_no_more(week: Filled, first: Iterable[str]) -> str:
    """What stands in the way: the minutes only where no day has any left for one more line."""
    room = [day for day, minutes in week.idle_minutes.items() if minutes >= ROOM_FOR_A_LINE]
    if any(day.type != SHORT for day in room):
        return "limits of sets and exercises stop more, not the minutes"
    if room:
        return "short light days between the others hold no more"
    if any(_is_full_by_count(week, day) for day in week.idle_minutes):
        return "sessions hold no more exercises"
    names = ", ".join(first)
    return f"the minutes go to {names} first" if names else "the minutes hold no more"


def _is_full_by_count(week: Filled, day: Day) -> bool:
    """True for a day with minutes left for a set or two, and the most exercises a session of its length holds."""
    most = session_size(day, week.catalogue.settings).exercises_max
    lines = sum(item.day == day for item in week.chosen)
    return lines >= most and week.idle_minutes[day] >= ROOM_FOR_A_SET
