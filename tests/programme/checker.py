"""Checks a week against every hard rule, with own code on the raw rows of the rule files.

Nothing of the solver's constraint code is used here: only the request, the printed lines and YAML.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from assistant.model.programme import Programme
from assistant.programme.request import ProgrammeRequest
from programme.documents import pattern_rows, rows, setting

WEEK = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
HARD_SKILL = 3


@dataclass(frozen=True)
class Entry:
    """One line of a week in its barest form. reps: a range said by hand, which no zone prints."""

    day: str
    exercise: str
    sets: int
    zone: str
    reps: tuple[int, int] | None = None


def entries(programme: Programme) -> list[Entry]:
    return [
        Entry(session.day, line.exercise, line.sets, line.zone, line.reps if line.by_hand else None)
        for session in programme.sessions
        for line in session.lines
    ]


@cache
def credits_of(exercise: str) -> dict[str, float]:
    row = rows()[exercise]
    return {**row["secondary"], **row["primary"]}


def credit(exercise: str, muscle: str) -> float:
    return credits_of(exercise).get(muscle, 0.0)


def sets_by_day(week: list[Entry], muscle: str) -> dict[str, float]:
    total: dict[str, float] = defaultdict(float)
    for entry in week:
        total[entry.day] += entry.sets * credit(entry.exercise, muscle)
    return total


def own_sets(week: list[Entry], muscle: str, besides: Iterable[str] = ()) -> int:
    """Sets of exercises that are there for the muscle, and for none of those `besides`."""
    serve = tuple(besides)
    return sum(
        entry.sets
        for entry in week
        if credit(entry.exercise, muscle) >= 1
        and not any(credit(entry.exercise, other) >= 1 for other in serve)
    )


def volumes(week: list[Entry]) -> dict[str, dict[str, float]]:
    """Fractional sets of every muscle on each day, in one pass."""
    total: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for entry in week:
        for muscle, share in credits_of(entry.exercise).items():
            total[muscle][entry.day] += entry.sets * share
    return total


def hold_of(request: ProgrammeRequest) -> tuple[int, int]:
    """Seconds of a hold: the usual span, or one that ends at the longest hold allowed."""
    low, high = setting("zones", "hold_s")
    longest = request.longest_hold_s
    if longest is None or longest >= high:
        return low, high
    return min(low, -(-longest // 2)), longest


def seconds_of(entry: Entry, request: ProgrammeRequest) -> float:
    """The time model: repetitions x 3.5 s, both sides, rest, set-up, ramp sets."""
    row = rows()[entry.exercise]
    if row["measure"] == "seconds":
        low, high = entry.reps or hold_of(request)
        work = (low + high) / 2
    else:
        low, high = (
            entry.reps or row.get("repetitions") or setting("zones", "repetitions")[entry.zone]
        )
        work = (low + high) / 2 * setting("clock", "seconds_per_repetition")
    if row["unilateral"]:
        work = work * 2 + setting("clock", "change_sides_s")
    ramps = 0
    if entry.zone == "heavy":
        ramps = setting("clock", "ramp_sets_heavy_zone")
    elif pattern_rows()[row["pattern"]]["kind"] == "compound" and {"barbell", "hex_bar"} & set(
        row["equipment"]
    ):
        ramps = setting("clock", "ramp_sets_free_bar")
    lead_in = row["setup_s"] + ramps * setting("clock", "ramp_set_s")
    return float(math.ceil(entry.sets * (work + row["rest_s"]) + lead_in))


def warm_up_of(kind: str, minutes: int) -> int:
    """Seconds of the general warm-up."""
    return 180 if kind == "short" or minutes <= 30 else 300


def violations(week: list[Entry], request: ProgrammeRequest, types: dict[str, str]) -> list[str]:
    """Every hard rule the lines break, one sentence each."""
    found: list[str] = []
    days = sorted({entry.day for entry in week}, key=WEEK.index)
    for day in days:
        today = [entry for entry in week if entry.day == day]
        if day not in request.available_days or day not in types:
            found.append(f"{day} is not a training day")
            continue
        found += _session_faults(today, day, types[day], request)
    for entry in week:
        found += _exercise_faults(entry, request)
    return found + _week_faults(week, request)


def session_minutes(day: str, kind: str, request: ProgrammeRequest) -> int:
    usual = request.minutes_per_session
    usual = min(usual, request.short_minutes) if kind == "short" else usual
    return request.minutes_on.get(day, usual)


def _session_faults(
    today: list[Entry], day: str, kind: str, request: ProgrammeRequest
) -> list[str]:
    found = []
    minutes = session_minutes(day, kind, request)
    warm_up = warm_up_of(kind, minutes)
    needed = warm_up + sum(seconds_of(entry, request) for entry in today)
    if needed > minutes * 60:
        found.append(f"{day}: {needed / 60:.1f} of {minutes} minutes")
    size = next(s for s in setting("limits", "session_sizes") if minutes <= s["up_to_minutes"])
    if len(today) > min(size["exercises_max"], 4 if kind == "short" else 99):
        found.append(f"{day}: {len(today)} exercises")
    easing_in = request.session_cap_sets[1] < 6
    if not easing_in and sum(entry.sets == 2 for entry in today) > size["short_lines_max"]:
        found.append(f"{day}: too many lines of two sets")
    patterns = [rows()[entry.exercise]["pattern"] for entry in today]
    if len(set(patterns)) < len(patterns):
        found.append(f"{day}: a movement pattern stands twice")
    axial = sum(e.sets for e in today if rows()[e.exercise]["axial_load"] == "high")
    if axial > 6:
        found.append(f"{day}: {axial} sets of high axial load")
    for muscle in request.target_sets:
        sets = sum(entry.sets * credit(entry.exercise, muscle) for entry in today)
        if sets > request.session_cap_sets[1]:
            found.append(f"{day}: {muscle} {sets} sets, above the cap")
    for entry in today:
        found += _day_type_faults(entry, kind, minutes, request)
    return found


def _day_type_faults(entry: Entry, kind: str, minutes: int, request: ProgrammeRequest) -> list[str]:
    row = rows()[entry.exercise]
    pattern = pattern_rows()[row["pattern"]]
    found = []
    barred = {"upper": "lower", "lower": "upper"}.get(kind)
    if pattern["region"] == barred:
        found.append(f"{entry.day}: {entry.exercise} on a day for the {kind} half")
    if kind == "short" and (row["axial_load"] == "high" or row["skill"] >= HARD_SKILL):
        found.append(f"{entry.day}: {entry.exercise} is too heavy or hard for a short day")
    serves = [m for m in request.priority_muscles if m in row["primary"]]
    if kind == "short" and request.priority_muscles and not serves:
        found.append(f"{entry.day}: {entry.exercise} serves no priority on a short day")
    least = 3 if pattern["kind"] == "compound" and minutes > 40 else 2
    least = min(least, max(1, int(request.session_cap_sets[1] // 2)))
    if not least <= entry.sets <= 4:
        found.append(f"{entry.day}: {entry.sets} sets of {entry.exercise}")
    return found


def _exercise_faults(entry: Entry, request: ProgrammeRequest) -> list[str]:
    row = rows()[entry.exercise]
    found = []
    if "teaching_drill" in row["flags"] and entry.exercise not in request.hand.wanted:
        found.append(f"{entry.exercise} only teaches a movement")
    kit = set(request.equipment) | {"bodyweight"}
    if not set(row["equipment"]) <= kit:
        found.append(f"{entry.exercise} needs {set(row['equipment']) - kit}")
    choices = row.get("equipment_any", [])
    found += [f"{entry.exercise} needs one of {any_}" for any_ in choices if not set(any_) & kit]
    if set(row["joint_stress"]) & request.sore_joints:
        found.append(f"{entry.exercise} loads a sore joint")
    if request.eased_joints and set(row["flags"]) & request.hurting:
        found.append(f"{entry.exercise} asks for what hurts")
    if request.training_level == "novice" and row["skill"] >= HARD_SKILL:
        found.append(f"{entry.exercise} asks too much skill")
    needed = NEEDED.get(entry.exercise)
    if needed and needed not in request.abilities and entry.exercise not in request.hand.wanted:
        found.append(f"{entry.exercise}, though nobody has said that it can be done")
    if entry.zone not in row["rep_zones"]:
        found.append(f"{entry.exercise} is not for the {entry.zone} zone")
    for limit in sorted(request.limits):
        if taken(limit, entry.exercise) or entry.zone in ZONES_OUT.get(limit, ()):
            found.append(f"{entry.exercise} stands against `{limit}`")
    return found


# What nobody should meet who has not said that they can do it, told once more: no row is read for it.
NEEDED = {
    "push_up": "push_up",
    "push_up_close": "push_up",
    "pike_push_up": "push_up",
    "pull_up": "pull_up",
    "chin_up": "pull_up",
    "nordic_lower": "nordic_curl",
    "dip": "dip",
}
# A few hard, slow ones: the most repetitions that a coach would print.
MOST_REPETITIONS = {
    "nordic_lower": 6,
    "pull_up": 10,
    "chin_up": 10,
    "dip": 10,
    "reverse_nordic": 10,
}


def load_faults(week: list[Entry], request: ProgrammeRequest) -> list[str]:
    """Body-weight work of somebody who has trained before, where the same work could be loaded."""
    if request.training_level == "novice":
        return []
    stays = {*request.liked, *request.previous_exercises, *request.hand.wanted}
    stays |= {pin.exercise for pin in request.pinned}
    comfort = {"intermediate": 2, "advanced": 3}[request.training_level]
    found = []
    for name in sorted({entry.exercise for entry in week} - stays):
        row = rows()[name]
        trunk = pattern_rows()[row["pattern"]]["kind"] == "trunk"
        if row["loadability"] > 1 or "band" in row["equipment"] or trunk:
            continue
        found += [
            f"{name}, though {other} does the same and can be loaded"
            for other, theirs in rows().items()
            if theirs["pattern"] == row["pattern"]
            and theirs["loadability"] > 1
            and theirs["skill"] <= max(comfort, row["skill"])
            and _same_work(other, name)
            and not request.eased_joints & {*theirs["joint_stress"]} - {*row["joint_stress"]}
            and other not in request.hand.never
            and not _exercise_faults(Entry("mon", other, 3, _any_zone(other, request)), request)
        ]
    return found


# What a limit takes, told once more from the facts about each exercise: no list of rules/limits.yaml is
# read here, so that a limit weakened there is seen.
ZONES_OUT = {
    "breath_holding": ("heavy",),
    "light_only": ("heavy", "moderate"),
    "long_sets": ("very_light",),
}
_PRONE_TO_FALL = {"balance_demand", "unsteady_base"}
_STANDS = {"standing", "hanging", "kneeling"}


def taken(limit: str, exercise: str) -> bool:
    """True if nobody under the limit may do the exercise, in whatever zone."""
    row = rows()[exercise]
    flags, position, pattern = set(row["flags"]), row["position"], row["pattern"]
    kit = _kit(row)
    bars = {"barbell", "hex_bar"} & set(row["equipment"])
    return {
        "sessions": True,
        "impact": "impact" in flags,
        "spine_bending": "spinal_flexion" in flags or pattern == "trunk_flexion",
        "flat_on_back": position == "supine" or "supine_flat" in flags,
        "lying_on_belly": "prone_pressure" in flags,
        "breath_holding": "high_bracing" in flags,
        "belly_pressure": bool({"trunk_pressure", "high_bracing"} & flags)
        or pattern == "trunk_flexion"
        or exercise in {"push_up", "push_up_close", "pike_push_up"},
        "heavy_on_spine": row["axial_load"] == "high",
        "head_down": "head_down" in flags,
        "load_over_face": "load_over_face" in flags
        or (position in {"supine", "reclined"} and pattern == "horizontal_push")
        or (
            pattern == "vertical_push"
            and bool(kit & {"barbell", "dumbbell"})
            and "overhead" in flags
        ),
        "load_on_shoulders": "load_on_shoulders" in flags
        or (pattern == "squat" and bool(bars) and row["axial_load"] == "high"),
        "unsteady": bool(_PRONE_TO_FALL & flags) or pattern == "carry",
        "hanging": position == "hanging" or "passive_hang" in flags,
        "on_feet": position in _STANDS,
        "end_range": bool({"joint_end_range", "passive_hang", "behind_body_arm"} & flags),
        "hard_lowering": "hard_lowering" in flags,
        "light_only": bool(bars),
        "long_sets": row["measure"] == "seconds",
    }.get(limit, False)


def _week_faults(week: list[Entry], request: ProgrammeRequest) -> list[str]:
    found = []
    days_of: dict[str, list[str]] = defaultdict(list)
    for entry in week:
        days_of[entry.exercise].append(entry.day)
    for exercise, days in days_of.items():
        if len(days) > 2:
            found.append(f"{exercise} stands on {len(days)} days")
        found += [f"{exercise} on neighbouring days" for a in days for b in days if is_next(a, b)]
        found += [
            f"{exercise} twice, though a relative can be done"
            for _ in days[1:2]
            if _once(exercise, request)
        ]
    axial = {e.day for e in week if rows()[e.exercise]["axial_load"] == "high"}
    found += [f"high axial load on {a} and {b}" for a in axial for b in axial if is_next(a, b)]
    if sum(e.sets for e in week if rows()[e.exercise]["axial_load"] == "high") > 14:
        found.append("more than 14 sets of high axial load")
    for muscle, aim in request.target_sets.items():
        by_day = sets_by_day(week, muscle)
        if sum(by_day.values()) > aim[2]:
            found.append(f"{muscle}: {sum(by_day.values())} sets, above the ceiling {aim[2]}")
        hard = {day for day, sets in by_day.items() if sets > 4}
        hard |= {e.day for e in week if e.zone == "heavy" and credit(e.exercise, muscle) >= 1}
        found += [f"{muscle}: hard on {a} and {b}" for a in hard for b in hard if is_next(a, b)]
    return found


def _same_work(other: str, exercise: str) -> bool:
    """True if another exercise is as good for the prime movers of this one."""
    primary = rows()[exercise]["primary"]
    prime = [muscle for muscle, share in primary.items() if share == max(primary.values())]
    return all(credit(other, muscle) >= primary[muscle] for muscle in prime)


def _kit(row: dict[str, Any]) -> set[str]:
    return {
        *row["equipment"],
        *(each for pieces in row.get("equipment_any", []) for each in pieces),
    }


def stand_in_faults(line: Any, request: ProgrammeRequest) -> list[str]:
    """Stand-ins of another movement or muscle, kit taken at home, a joint spared that nothing loads."""
    found, row = [], rows()[line.exercise]
    alike = [{"squat", "leg_press"}, {"trunk_flexion", "trunk_stability", "carry"}]
    primary = row["primary"]
    for other in line.substitutes:
        theirs = rows()[other.exercise]
        kinds = {row["pattern"], theirs["pattern"]}
        if len(kinds) > 1 and not any(kinds <= group for group in alike):
            found.append(f"{other.exercise} is another movement than {line.exercise}")
        prime = {muscle for muscle, share in primary.items() if share == max(primary.values())}
        if not any(theirs["primary"].get(muscle, 0) >= primary[muscle] for muscle in prime):
            found.append(f"{other.exercise} trains another muscle than {line.exercise}")
        if other.changes == "equipment" and not any("machine" in k for k in request.equipment):
            found.append(f"kit is taken at home: {other.exercise}")
        if other.changes == "equipment" and (_kit(row) & _kit(theirs)) - {"bodyweight"}:
            found.append(f"{other.exercise} needs the kit that is taken from {line.exercise}")
        if other.changes == "joint" and not set(row["joint_stress"]) - set(theirs["joint_stress"]):
            found.append(f"{other.exercise} spares no joint that {line.exercise} loads")
    return found


def swap_faults(old: str, new: str) -> list[str]:
    """Faults of a helper's change at the end of a block."""
    was, becomes = rows()[old], rows()[new]
    found = []
    if becomes["pattern"] != was["pattern"] or not _same_work(new, old):
        found.append(f"{new} does not do the work of {old}")
    if becomes["loadability"] < was["loadability"]:
        found.append(f"{new} loads worse than {old}")
    if new in was["regressions"]:
        found.append(f"{new} is an easier version of {old}")
    return found


def _once(exercise: str, request: ProgrammeRequest) -> bool:
    """True for a big hinge of which this client may do another one."""
    pattern = rows()[exercise]["pattern"]
    return pattern in setting("limits", "one_day_patterns") and any(
        not _exercise_faults(Entry("mon", name, 3, _any_zone(name, request)), request)
        for name, row in rows().items()
        if row["pattern"] == pattern
        and name != exercise
        and any(credit(name, muscle) >= 1 for muscle in request.target_sets)
    )


def is_next(first: str, second: str) -> bool:
    return (WEEK.index(first) + 1) % 7 == WEEK.index(second)


def programme_faults(programme: Programme, request: ProgrammeRequest) -> list[str]:
    """Faults of a whole programme: hard rules, the sheet's own figures, silent gaps."""
    week = entries(programme)
    found = violations(week, request, dict(programme.day_types)) + load_faults(week, request)
    for session in programme.sessions:
        if not session.lines:
            found.append(f"{session.day}: an empty session")
        minutes = session.minutes_allowed
        warm_up = warm_up_of(session.type, minutes)
        mine = [entry for entry in week if entry.day == session.day]
        total = (warm_up + sum(seconds_of(entry, request) for entry in mine)) / 60
        if abs(total - session.minutes) > 0.06:
            found.append(f"{session.day}: says {session.minutes} minutes, is {total:.2f}")
        found += _sheet_faults(session, request)
    if not programme.sessions:
        refused = [gap for gap in programme.unmet if gap.kind in ("refused", "empty_day")]
        return found if refused else [*found, "no session and no reason"]
    return found + _silent_gaps(programme, week, request)


def _sheet_faults(session: Any, request: ProgrammeRequest) -> list[str]:
    found = []
    kinds = [pattern_rows()[rows()[line.exercise]["pattern"]]["kind"] for line in session.lines]
    rank = [{"compound": 0, "single_joint": 1, "trunk": 2}[kind] for kind in kinds]
    if rank != sorted(rank):
        found.append(f"{session.day}: a small lift stands before a big one")
    for line in session.lines:
        found += _dose_faults(session.day, line, request)
        found += stand_in_faults(line, request)
        for stand_in in line.substitutes:
            trial = Entry(
                session.day, stand_in.exercise, line.sets, _any_zone(stand_in.exercise, request)
            )
            found += [f"stand-in {text}" for text in _exercise_faults(trial, request)]
    return found


def _dose_faults(day: str, line: Any, request: ProgrammeRequest) -> list[str]:
    """What a line asks beyond the limits in force: reserve, length of a hold."""
    found = []
    least = max(
        [request.rir_compound, request.rir_single_joint][
            pattern_rows()[rows()[line.exercise]["pattern"]]["kind"] != "compound"
        ],
        4 if "spare_four" in request.limits else 3 if "spare_three" in request.limits else 0,
    )
    if line.rir < least:
        found.append(f"{day}: {line.exercise} leaves only {line.rir} in reserve")
    if not line.by_hand and line.high > MOST_REPETITIONS.get(line.exercise, line.high):
        found.append(f"{day}: {line.high} of {line.exercise} are asked for")
    longest = request.longest_hold_s
    if line.measure == "seconds" and longest is not None and line.high > longest:
        found.append(f"{day}: {line.exercise} is held for {line.high} s")
    return found


def _any_zone(exercise: str, request: ProgrammeRequest) -> str:
    """A zone in which this client could do an exercise; its first where no zone is left."""
    out = {zone for limit in request.limits for zone in ZONES_OUT.get(limit, ())}
    zones = [str(zone) for zone in rows()[exercise]["rep_zones"]]
    return next((zone for zone in zones if zone not in out), zones[0])


def _silent_gaps(programme: Programme, week: list[Entry], request: ProgrammeRequest) -> list[str]:
    found = []
    named = {(gap.kind, gap.subject.split(":")[0]) for gap in programme.unmet}
    totals = {m: sum(sets_by_day(week, m).values()) for m in request.target_sets}
    said = {item.muscle: item for item in programme.muscles}
    for muscle, total in totals.items():
        if abs(said[muscle].sets - total) > 1e-9:
            found.append(f"{muscle}: says {said[muscle].sets} sets, is {total}")
        if total < request.floors_sets.get(muscle, 0) and ("floor", muscle) not in named:
            found.append(f"{muscle}: {total} sets, under its floor without a word")
    found += _silent_balance(programme, totals, request)
    if request.later is not None:
        # Few sets at first are meant: one note says so for all muscles.
        return [text for text in found if "without a word" not in text]
    first = request.priority_muscles
    others = [own_sets(week, m, first) for m in totals if m not in first]
    for muscle in request.priority_muscles:
        if others and totals[muscle] <= max(others) and ("lead", muscle) not in named:
            found.append(f"{muscle} does not lead and nothing says why")
        if totals[muscle] < request.target_sets[muscle][0] and ("low", muscle) not in named:
            found.append(f"{muscle} is under its least useful sets without a word")
    return found


# A week of so many minutes has room for the arms, whatever the aims.
_FULL_WEEK_MINUTES = 150
_KINDS_OF_A_WEEK = {
    "row": ({"horizontal_pull"}, "row"),
    "vertical_pull": ({"vertical_pull", "shoulder_extension"}, "pull from above"),
    "push": ({"horizontal_push", "vertical_push"}, "press"),
}


def _silent_balance(
    programme: Programme, totals: dict[str, float], request: ProgrammeRequest
) -> list[str]:
    """What a coach misses first: a kind of lift, the arms, and one aim fed while another starves."""
    found, named = [], {(gap.kind, gap.subject.split(":")[0]) for gap in programme.unmet}
    week = entries(programme)
    done = {rows()[entry.exercise]["pattern"] for entry in week}
    able = {
        row["pattern"]
        for name, row in rows().items()
        if not _exercise_faults(Entry("mon", name, 3, _any_zone(name, request)), request)
    }
    for family, (patterns, words) in _KINDS_OF_A_WEEK.items():
        if patterns & able and not patterns & done and ("family", family) not in named:
            found.append(f"no {words} this week without a word")
    minutes = sum(session.minutes_allowed for session in programme.sessions)
    full, said = minutes >= _FULL_WEEK_MINUTES, any(g.subject == "biceps" for g in programme.unmet)
    if full and not totals.get("biceps", 1.0) and not said:
        found.append("biceps: nothing in a full week without a word")
    aims = {m: request.target_sets[m][1] for m in request.priority_muscles}
    fed = [m for m, aim in aims.items() if aim and totals[m] > 1.35 * aim + 0.25]
    starved = [m for m, aim in aims.items() if totals[m] < aim / 2 and ("low", m) not in named]
    found += [f"{a} runs over while {b} gets half, without a word" for a in fed for b in starved]
    return found
