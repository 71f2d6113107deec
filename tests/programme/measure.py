"""The phases' measures on a finished week, computed from its lines: for comparing planners."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from functools import cache

from assistant.programme.request import ProgrammeRequest
from programme.checker import (
    Entry,
    credit,
    is_next,
    own_sets,
    rows,
    seconds_of,
    session_minutes,
    volumes,
    warm_up_of,
)
from programme.documents import pattern_rows, setting

COUNTS_FROM = 2.0


def _weights(phase: str) -> dict[str, int]:
    return next(p["weights"] for p in setting("week", "phases") if p["id"] == phase)


def _patterns(week: list[Entry]) -> dict[str, int]:
    sets: dict[str, int] = {}
    for entry in week:
        pattern = rows()[entry.exercise]["pattern"]
        sets[pattern] = sets.get(pattern, 0) + entry.sets
    return sets


def reachable(pool: AbstractSet[str], muscle: str) -> bool:
    return _reachable(frozenset(pool), muscle)


@cache
def _reachable(pool: frozenset[str], muscle: str) -> bool:
    return any(credit(name, muscle) >= 0.5 for name in pool)


def whole_body(
    week: list[Entry], request: ProgrammeRequest, types: dict[str, str], pool: AbstractSet[str]
) -> float:
    """Missing families, floors (quarter sets), empty days and missing parts of a day."""
    weights, total, volume = _weights("whole_body"), 0.0, volumes(week)
    possible = {rows()[name]["pattern"] for name in pool}
    done = _patterns(week)
    for family in setting("week", "families"):
        if possible & set(family["patterns"]) and not done.keys() & set(family["patterns"]):
            total += weights["missing_family"]
    tight = setting("week", "tight_weeks")
    minutes = sum(session_minutes(day, kind, request) for day, kind in types.items())
    for muscle, usual in request.floors_sets.items():
        small = muscle in tight["muscles"] and muscle not in request.priority_muscles
        is_tight = small and minutes <= tight["up_to_minutes"]
        floor = min(usual, tight["floor_sets"]) if is_tight else usual
        if reachable(pool, muscle):
            short = max(0.0, floor - sum(volume[muscle].values()))
            total += weights["floor_quarter_set"] * 4 * short
    for day, kind in types.items():
        today = [entry for entry in week if entry.day == day]
        least = setting("limits", f"exercises_per_{'short_' if kind == 'short' else ''}session_min")
        if not today:
            total += weights["empty_day"]
        else:
            total += weights["thin_day"] * max(0, least - len(today))
        for part in setting("week", "day_parts").get(kind, []):
            if possible & set(part["patterns"]) and not _patterns(today).keys() & set(
                part["patterns"]
            ):
                total += weights["day_part"]
    return total


def sessions(sets_by_day: dict[str, float]) -> int:
    return sum(sets >= COUNTS_FROM for sets in sets_by_day.values())


def priorities(
    week: list[Entry], request: ProgrammeRequest, types: dict[str, str], pool: AbstractSet[str]
) -> float:
    """Priority shortfall under the least useful sets, missing sessions, missing angles."""
    weights, total, volume = _weights("priorities"), 0.0, volumes(week)
    factors = setting("week", "priority_order_factors")
    possible = {rows()[name]["pattern"] for name in pool}
    done = _patterns(week)
    place = 0
    for muscle in request.priority_muscles:
        if not reachable(pool, muscle):
            continue
        factor = factors[min(place, len(factors) - 1)]
        place += 1
        low, sets = request.target_sets[muscle][0], sum(volume[muscle].values())
        short, half_short = max(0.0, low - sets), max(0.0, round(4 * low) // 2 / 4 - sets)
        wanted = min(request.target_sessions.get(muscle, 0), len(types))
        missing = max(0, wanted - sessions(volume[muscle]))
        angles = sum(
            sum(done.get(pattern, 0) for pattern in angle["patterns"]) < angle["needs_sets"]
            for angle in setting("week", "angles").get(muscle, [])
            if possible & set(angle["patterns"]) and len(types) >= angle.get("from_days", 1)
        )
        total += factor * (
            weights["low_quarter_set"] * 4 * short
            + weights["half_low_quarter_set"] * 4 * half_short
            + weights["session"] * missing
            + weights["angle"] * angles
        )
    return total


def targets(
    week: list[Entry], request: ProgrammeRequest, types: dict[str, str], pool: AbstractSet[str]
) -> float:
    """Distance to the weekly targets with leads, soft caps, sessions and push behind pull."""
    weights, total, volume = _weights("targets"), 0.0, volumes(week)
    free_share = setting("limits", "excess_free_percent")
    sums = {m: sum(volume[m].values()) for m in request.target_sets}
    often = {m: sessions(volume[m]) for m in request.target_sets}
    first = set(request.priority_muscles)
    others = [m for m in request.target_sets if m not in first and reachable(pool, m)]
    for muscle, aim in request.target_sets.items():
        if not reachable(pool, muscle):
            continue
        quarters = 4 * sums[muscle]
        goal = round(4 * aim[1])
        name = "priority" if muscle in first else "other"
        total += weights[f"{name}_short_quarter_set"] * max(0, goal - quarters)
        ceiling = goal + goal * free_share // 100
        own = 4 * own_sets(week, muscle)
        total += weights["excess_quarter_set"] * max(0, own - ceiling)
        for sets in volume[muscle].values():
            over = max(0.0, sets - request.session_cap_sets[0])
            total += weights["over_soft_cap_quarter_set"] * 4 * over
        if muscle not in first:
            low = round(4 * aim[0])
            total += weights["other_low_quarter_set"] * max(0, low - quarters)
            wanted = min(request.target_sessions.get(muscle, 0), len(types))
            total += weights["other_session"] * max(0, wanted - often[muscle])
        elif others:
            lead = max(4 * own_sets(week, m, first) for m in others) + 1
            total += weights["lead_quarter_set"] * max(0, lead - quarters)
    possible = {rows()[name]["pattern"] for name in pool}
    for day, kind in types.items():
        today = _patterns([entry for entry in week if entry.day == day]).keys()
        for wish in setting("week", "day_wishes").get(kind, []):
            if possible & set(wish["patterns"]) and not today & set(wish["patterns"]):
                total += weights["day_wish"]
    level = setting("week", "levels")[request.training_level]
    total += level["no_loaded_lift"] * _families_without_a_loaded_lift(week, pool)
    total += weights["public_day"] * _missing_public_days(week, types, pool)
    total += weights["same_lift_next_day"] * _alike_on_next_days(week, types)
    done = _patterns(week)
    push = sum(done.get(pattern, 0) for pattern in setting("week", "push_patterns"))
    pull = sum(done.get(pattern, 0) for pattern in setting("week", "pull_patterns"))
    return total + weights["pull_behind_push_set"] * max(0, push - pull)


def _alike_on_next_days(week: list[Entry], types: dict[str, str]) -> int:
    """Neighbouring days that both hold a lift of a kind which tires the same back."""
    total = 0
    for pattern in setting("limits", "one_day_patterns"):
        lines = [entry.day for entry in week if rows()[entry.exercise]["pattern"] == pattern]
        pairs = [(a, b) for a in types for b in types if is_next(a, b)]
        total += sum(max(0, lines.count(a) + lines.count(b) - 1) for a, b in pairs)
    return total


def _families_without_a_loaded_lift(week: list[Entry], pool: AbstractSet[str]) -> int:
    """Kinds of movement that the pool could train with a big lift in small steps, and the week does not."""
    big = {name for name, row in pattern_rows().items() if row["kind"] == "compound"}
    able = {n for n in pool if rows()[n]["loadability"] == 3 and not rows()[n]["unilateral"]}
    loaded = {n for n in able if rows()[n]["pattern"] in big}
    missing, used = 0, {entry.exercise for entry in week}
    for family in setting("week", "loaded_kinds"):
        able = {name for name in loaded if rows()[name]["pattern"] in family["patterns"]}
        missing += bool(able) and not able & used
    return missing


def _missing_public_days(week: list[Entry], types: dict[str, str], pool: AbstractSet[str]) -> int:
    public, missing = setting("week", "public_minimum"), 0
    for group in public["groups"]:
        days = {e.day for e in week if any(credit(e.exercise, m) >= 0.5 for m in group["muscles"])}
        if any(reachable(pool, muscle) for muscle in group["muscles"]):
            missing += max(0, min(public["days"], len(types)) - len(days))
    return missing


def minutes_over(week: list[Entry], request: ProgrammeRequest, types: dict[str, str]) -> float:
    """Minutes by which sessions run over their limits, summed over the week."""
    total = 0.0
    for day, kind in types.items():
        limit = session_minutes(day, kind, request)
        seconds = warm_up_of(kind, limit) + sum(
            seconds_of(e, request) for e in week if e.day == day
        )
        total += max(0.0, seconds / 60 - limit)
    return total


def unmet_priority_sets(week: list[Entry], request: ProgrammeRequest) -> float:
    """Fractional sets that priorities lack to their targets."""
    volume = volumes(week)
    return sum(
        max(0.0, request.target_sets[m][1] - sum(volume[m].values()))
        for m in request.priority_muscles
    )
