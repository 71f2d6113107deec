"""From the plan's facts to what the week's solver is asked: a translation, no decisions."""

from __future__ import annotations

import math
from collections.abc import Collection

from assistant.model.derivation import Facts, items_in, number_in, word_in
from assistant.programme.catalogue import Catalogue, expand_equipment
from assistant.programme.request import (
    DAY_TYPES,
    DAYS,
    LaterDose,
    ProgrammeRequest,
    SessionCap,
    SetTarget,
)


def request_from_facts(
    facts: Facts, catalogue: Catalogue, seed: int = 1
) -> ProgrammeRequest | None:
    """Return the request for a case's final facts (by key), None where no training is planned.

    Withheld exercise, missing days, minutes, level or age mean that there is no week to solve.
    Raises ValueError naming a field the solver cannot take.
    """
    days = items_in(facts, "client.available_days")
    minutes = number_in(facts, "client.minutes_per_session")
    level, age = word_in(facts, "training.level"), number_in(facts, "client.age_years")
    priorities = set(items_in(facts, "priority.muscles"))
    targets = _targets(facts, "dose.sets_per_week", priorities)
    cap = _cap(facts, "dose.session_cap_sets")
    floor = number_in(facts, "dose.floor_sets_per_week") or 0.0
    compound = number_in(facts, "effort.compound_reps_in_reserve")
    single = number_in(facts, "effort.isolation_reps_in_reserve")
    if not days or minutes is None or not level or age is None or not targets:
        return None
    if cap is None or compound is None or single is None:
        return None
    later = _later(facts, cap, floor, priorities)
    if later is not None:
        # Few sets a session bind already; a helper's sets may add up to the usual ceiling.
        targets = {
            muscle: aim._replace(ceiling=max(aim.ceiling, later.target_sets[muscle].ceiling))
            for muscle, aim in targets.items()
        }
    longest = number_in(facts, "effort.longest_hold_s")
    sore, eased, resting = (
        frozenset(items_in(facts, name))
        for name in ("client.sore_joints", "training.eased_joints", "training.resting_joints")
    )
    return ProgrammeRequest(
        available_days=tuple(day for day in DAYS if day in days),
        minutes_per_session=int(minutes),
        training_level=level,
        age_years=age,
        target_sets=targets,
        session_cap_sets=cap,
        floors_sets={muscle: min(floor, aim.low) for muscle, aim in targets.items()},
        later=later,
        rir_compound=math.ceil(compound),
        rir_single_joint=math.ceil(single),
        day_types=_day_types(facts) or None,
        equipment=expand_equipment(
            catalogue, items_in(facts, "client.equipment") or ("bodyweight",)
        ),
        sore_joints=sore - eased,
        resting_joints=resting,
        eased_joints=eased - resting,
        hurting=frozenset(items_in(facts, "client.sore_movements")),
        abilities=frozenset(items_in(facts, "client.can_do")),
        limits=frozenset(items_in(facts, "training.limits")),
        longest_hold_s=None if longest is None else int(longest),
        target_sessions=_sessions(facts),
        priority_muscles=tuple(muscle for muscle in targets if muscle in priorities),
        block_style=word_in(facts, "block.next_style", "moderate"),
        seed=seed,
    )


def _later(
    facts: Facts, now: SessionCap, floor: float, priorities: Collection[str]
) -> LaterDose | None:
    """The dose the week grows to, where fewer sets a session are allowed now."""
    cap = _cap(facts, "dose.later_session_cap_sets")
    targets = _targets(facts, "dose.later_sets_per_week", priorities)
    if cap is None or not targets or now.hard >= cap.hard:
        return None
    return LaterDose(targets, cap, {muscle: min(floor, aim.low) for muscle, aim in targets.items()})


def _cap(facts: Facts, key: str) -> SessionCap | None:
    usual = number_in(facts, key)
    return None if usual is None else SessionCap(usual, float(facts[key].high or usual))


def _targets(facts: Facts, name: str, priorities: Collection[str]) -> dict[str, SetTarget]:
    """Weekly sets by muscle, in quarter sets.

    The ceiling of a priority is its own upper end. Any other muscle may go up to the most for one
    muscle: what it gets above its own end is help in lifts for others, and no reason to drop them.
    """
    most = number_in(facts, "dose.ceiling_sets_per_week") or 0.0
    targets = {}
    for key, fact in facts.items():
        if key.startswith(f"{name}[") and isinstance(fact.value, int | float):
            aim = _quarter(float(fact.value))
            low = min(aim, _quarter(fact.low if fact.low is not None else aim))
            high = max(aim, _quarter(fact.high if fact.high is not None else aim))
            muscle = key.partition("[")[2][:-1]
            ceiling = high if muscle in priorities else max(high, _quarter(most))
            targets[muscle] = SetTarget(low, aim, ceiling)
    return targets


def _sessions(facts: Facts) -> dict[str, int]:
    return {
        key.partition("[")[2][:-1]: int(fact.value)
        for key, fact in facts.items()
        if key.startswith("dose.sessions_per_week[") and isinstance(fact.value, int | float)
    }


def _day_types(facts: Facts) -> dict[str, str]:
    types = {day: word_in(facts, f"week.day_type[{day}]") for day in DAYS}
    return {day: kind for day, kind in types.items() if kind in DAY_TYPES}


def _quarter(sets: float) -> float:
    return round(4 * sets) / 4
