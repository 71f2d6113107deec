"""From the plan's facts to what the week's solver is asked: a translation, no decisions."""

from __future__ import annotations

import math
from collections.abc import Mapping

from assistant.model.derivation import FactValue
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
    facts: Mapping[str, FactValue], catalogue: Catalogue, seed: int = 1
) -> ProgrammeRequest | None:
    """Return the request for a case's final facts (by key), None where no training is planned.

    Withheld exercise, missing days, minutes, level or age mean that there is no week to solve.
    Raises ValueError naming a field the solver cannot take.
    """
    days = _items(facts, "client.available_days")
    minutes = _number(facts, "client.minutes_per_session")
    level, age = facts.get("training.level"), _number(facts, "client.age_years")
    targets, cap = _targets(facts, "dose.sets_per_week"), _cap(facts, "dose.session_cap_sets")
    floor = _number(facts, "dose.floor_sets_per_week") or 0.0
    compound, single = (
        facts.get("effort.compound_reps_in_reserve"),
        facts.get("effort.isolation_reps_in_reserve"),
    )
    if not days or minutes is None or level is None or age is None or not targets:
        return None
    if cap is None or compound is None or single is None:
        return None
    later = _later(facts, cap, floor)
    if later is not None:
        # Few sets a session bind already; a helper's sets may add up to the usual ceiling.
        targets = {
            muscle: aim._replace(ceiling=max(aim.ceiling, later.target_sets[muscle].ceiling))
            for muscle, aim in targets.items()
        }
    priorities = set(_items(facts, "priority.muscles"))
    style = facts.get("block.next_style")
    longest = _number(facts, "effort.longest_hold_s")
    return ProgrammeRequest(
        available_days=tuple(day for day in DAYS if day in days),
        minutes_per_session=int(minutes),
        training_level=str(level.value),
        age_years=age,
        target_sets=targets,
        session_cap_sets=cap,
        floors_sets={muscle: min(floor, aim.low) for muscle, aim in targets.items()},
        later=later,
        rir_compound=math.ceil(float(str(compound.value))),
        rir_single_joint=math.ceil(float(str(single.value))),
        day_types=_day_types(facts) or None,
        equipment=expand_equipment(catalogue, _items(facts, "client.equipment") or ("bodyweight",)),
        sore_joints=frozenset(
            (*_items(facts, "client.sore_joints"), *_items(facts, "training.resting_joints"))
        ),
        limits=frozenset(_items(facts, "training.limits")),
        longest_hold_s=None if longest is None else int(longest),
        target_sessions=_sessions(facts),
        priority_muscles=tuple(muscle for muscle in targets if muscle in priorities),
        block_style=str(style.value) if style is not None else "moderate",
        seed=seed,
    )


def _later(facts: Mapping[str, FactValue], now: SessionCap, floor: float) -> LaterDose | None:
    """The dose the week grows to, where fewer sets a session are allowed now."""
    cap = _cap(facts, "dose.later_session_cap_sets")
    targets = _targets(facts, "dose.later_sets_per_week")
    if cap is None or not targets or now.hard >= cap.hard:
        return None
    return LaterDose(targets, cap, {muscle: min(floor, aim.low) for muscle, aim in targets.items()})


def _cap(facts: Mapping[str, FactValue], key: str) -> SessionCap | None:
    fact = facts.get(key)
    if fact is None:
        return None
    usual = float(str(fact.value))
    return SessionCap(usual, float(fact.high or usual))


def _targets(facts: Mapping[str, FactValue], name: str) -> dict[str, SetTarget]:
    """Weekly sets by muscle; the ceiling is the muscle's own upper end, in quarter sets."""
    targets = {}
    for key, fact in facts.items():
        if key.startswith(f"{name}[") and isinstance(fact.value, int | float):
            aim = _quarter(float(fact.value))
            low = min(aim, _quarter(fact.low if fact.low is not None else aim))
            high = max(aim, _quarter(fact.high if fact.high is not None else aim))
            targets[key.partition("[")[2][:-1]] = SetTarget(low, aim, high)
    return targets


def _sessions(facts: Mapping[str, FactValue]) -> dict[str, int]:
    return {
        key.partition("[")[2][:-1]: int(fact.value)
        for key, fact in facts.items()
        if key.startswith("dose.sessions_per_week[") and isinstance(fact.value, int | float)
    }


def _day_types(facts: Mapping[str, FactValue]) -> dict[str, str]:
    return {
        day: str(facts[f"week.day_type[{day}]"].value)
        for day in DAYS
        if f"week.day_type[{day}]" in facts and facts[f"week.day_type[{day}]"].value in DAY_TYPES
    }


def _items(facts: Mapping[str, FactValue], key: str) -> tuple[str, ...]:
    fact = facts.get(key)
    return fact.value if fact is not None and isinstance(fact.value, tuple) else ()


def _number(facts: Mapping[str, FactValue], key: str) -> float | None:
    fact = facts.get(key)
    if fact is None or isinstance(fact.value, bool) or not isinstance(fact.value, int | float):
        return None
    return float(fact.value)


def _quarter(sets: float) -> float:
    return round(4 * sets) / 4
