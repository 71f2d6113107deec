"""Which limits a week oversteps that no solved week oversteps: only a change by hand brings that about."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from assistant.model.documents.exercises import FULL_CREDIT
from assistant.model.programme import Unmet
from assistant.programme.clock import exercise_seconds, warm_up_seconds
from assistant.programme.days import Day
from assistant.programme.filled import Chosen, Filled
from assistant.programme.points import HIGH
from assistant.programme.pool import Pool
from assistant.programme.portions import least_sets, session_size, suits_the_day

# Sets come in quarters; a sum of quarters must not tip over a limit by rounding noise.
SLACK = 1e-9
_BIG_TO_SMALL = ("compound", "single_joint", "trunk")


def overstepped(week: Filled, pool: Pool) -> tuple[Unmet, ...]:
    """Every limit that is overstepped, `over` by kind; its subject is `what:where`."""
    found: list[Unmet] = []
    for day in week.layout.days:
        today = [item for item in week.chosen if item.day == day]
        if today:
            found += [*_clock(day, today, week), *_session(day, today, week), *_order(day, today)]
    return (*found, *_lines(week), *_muscles(week), *_repeats(week, pool), *_spine(week))


def _over(subject: str, limit: float, got: float, why: str) -> Unmet:
    return Unmet("over", subject, limit, got, why, "")


def _clock(day: Day, today: list[Chosen], week: Filled) -> Iterator[Unmet]:
    settings = week.catalogue.settings
    working = sum(exercise_seconds(item.candidate, item.sets, settings) for item in today)
    minutes = (warm_up_seconds(day.type, day.minutes, settings) + working) / 60
    if minutes > day.minutes:
        why = f"{day.id}: takes about {minutes:.0f} of {day.minutes} minutes"
        yield _over(f"minutes:{day.id}", day.minutes, round(minutes, 1), why)


def _session(day: Day, today: list[Chosen], week: Filled) -> Iterator[Unmet]:
    limits, size = week.catalogue.settings.limits, session_size(day, week.catalogue.settings)
    most = size.exercises_max
    if len(today) > most:
        why = f"{day.id}: {len(today)} exercises; {most} are the most a session holds"
        yield _over(f"exercises:{day.id}", most, len(today), why)
    short = sum(item.sets == limits.sets_per_exercise_min for item in today)
    if short > size.short_lines_max and week.request.later is None:
        why = f"{day.id}: {short} lines of only {limits.sets_per_exercise_min} sets"
        yield _over(f"short_lines:{day.id}", size.short_lines_max, short, why)
    patterns = [item.candidate.exercise.pattern for item in today]
    for pattern in dict.fromkeys(patterns):
        twice = 2 if pattern in limits.patterns_twice_a_day else 1
        if patterns.count(pattern) > twice:
            name = week.catalogue.patterns[pattern].name.lower()
            why = f"{day.id}: {patterns.count(pattern)} exercises of one kind ({name})"
            yield _over(f"kind:{day.id}:{pattern}", twice, patterns.count(pattern), why)
    axial = sum(item.sets for item in today if item.candidate.exercise.axial_load == HIGH)
    if axial > limits.high_axial_sets_per_session:
        most = limits.high_axial_sets_per_session
        why = f"{day.id}: {axial} sets with high load on the spine; {most} are the most a day"
        yield _over(f"spine:{day.id}", most, axial, why)


def _order(day: Day, today: list[Chosen]) -> Iterator[Unmet]:
    ranks = [_BIG_TO_SMALL.index(item.candidate.kind) for item in today]
    for (first, rank), (second, after) in pairwise(zip(today, ranks, strict=True)):
        if after < rank:
            names = first.candidate.exercise.name, second.candidate.exercise.name
            why = f"{day.id}: {names[0]}, a smaller lift, stands before {names[1]}"
            yield _over(f"order:{day.id}", 0, 1, why)
            return


def _lines(week: Filled) -> Iterator[Unmet]:
    settings, request = week.catalogue.settings, week.request
    limit = settings.week.levels[request.training_level].max_skill
    for item in week.chosen:
        exercise, day = item.candidate.exercise, item.day
        where = f"{day.id}:{exercise.id}"
        if not suits_the_day(item.candidate, day, request, settings):
            why = f"{day.id}: {exercise.name} does not suit the type of the day ({day.type})"
            yield _over(f"type:{where}", 0, 1, why)
        least = 1 if request.later is not None else least_sets(item.candidate, day, settings)
        most = settings.limits.sets_per_exercise_max
        if not least <= item.sets <= most:
            why = f"{day.id}: {item.sets} sets of {exercise.name}; {least} to {most} are usual"
            yield _over(f"sets:{where}", least if item.sets < least else most, item.sets, why)
    for candidate in {i.candidate.exercise.id: i.candidate for i in week.chosen}.values():
        exercise = candidate.exercise
        if exercise.skill > limit:
            why = (
                f"{exercise.name} asks skill {exercise.skill} of 3; {limit} is usual at this level"
            )
            yield _over(f"skill:{exercise.id}", limit, exercise.skill, why)
        if candidate.zone not in exercise.rep_zones:
            low, high = candidate.by_hand or settings.zones.repetitions[candidate.zone]
            why = f"{exercise.name} is seldom done for {low} to {high} repetitions"
            yield _over(f"range:{exercise.id}", 0, 1, why)


def _muscles(week: Filled) -> Iterator[Unmet]:
    cap, spacing = week.request.session_cap_sets.hard, week.catalogue.settings.spacing
    for (muscle, day), sets in week.volume.items():
        if sets > cap + SLACK:
            why = f"{day}: {week.name(muscle)} at {sets:g} sets; {cap:g} are the most a session"
            yield _over(f"session:{day}:{muscle}", cap, sets, why)
    for got in week.muscles:
        if got.sets > got.ceiling + SLACK:
            why = f"{week.name(got.muscle)}: {got.sets:g} sets a week; {got.ceiling:g} are the most"
            yield _over(f"week:{got.muscle}", got.ceiling, got.sets, why)
    hard = {key for key, sets in week.volume.items() if sets > spacing.hard_day_above_sets}
    hard |= {
        (muscle, item.day.id)
        for item in week.chosen
        if item.candidate.zone == "heavy"
        for muscle, share in item.candidate.exercise.credits.items()
        if share >= FULL_CREDIT and muscle in week.request.target_sets
    }
    for first, second in week.layout.neighbours():
        for muscle in week.request.target_sets:
            if {(muscle, first.id), (muscle, second.id)} <= hard:
                why = f"{week.name(muscle)}: a hard day on {first.id} and again on {second.id}"
                yield _over(f"rest:{first.id}:{muscle}", 1, 2, why)


def _repeats(week: Filled, pool: Pool) -> Iterator[Unmet]:
    limits = week.catalogue.settings.limits
    days: dict[str, list[str]] = {}
    for item in week.chosen:
        days.setdefault(item.candidate.exercise.id, []).append(item.day.id)
    for name, on in days.items():
        exercise = week.catalogue.exercises[name]
        once = exercise.pattern in limits.one_day_patterns and any(
            other.exercise.pattern == exercise.pattern
            and other.exercise.id != name
            and any(
                other.exercise.credits.get(m, 0) >= FULL_CREDIT for m in week.request.target_sets
            )
            for other in pool.allowed.values()
        )
        most = 1 if once else limits.same_exercise_days_per_week
        if len(on) > most:
            why = f"{exercise.name} on {len(on)} days ({', '.join(on)}); {most} is the most"
            yield _over(f"days:{name}", most, len(on), why)
        for first, second in week.layout.neighbours():
            if first.id in on and second.id in on:
                why = f"{exercise.name} on {first.id} and again on {second.id}"
                yield _over(f"again:{first.id}:{name}", 1, 2, why)


def _spine(week: Filled) -> Iterator[Unmet]:
    heavy = [item for item in week.chosen if item.candidate.exercise.axial_load == HIGH]
    days = {item.day.id for item in heavy}
    for first, second in week.layout.neighbours():
        if {first.id, second.id} <= days:
            why = f"high load on the spine on {first.id} and again on {second.id}"
            yield _over(f"spine_rest:{first.id}", 1, 2, why)
    sets, most = (
        sum(item.sets for item in heavy),
        week.catalogue.settings.limits.high_axial_sets_per_week,
    )
    if sets > most:
        why = f"{sets} sets a week with high load on the spine; {most} are the most"
        yield _over("spine:week", most, sets, why)
