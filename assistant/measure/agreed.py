"""What is agreed on a day, and from which day on weights may be read together."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal

from assistant.measure.settings import Settings
from assistant.measure.trend import Window, whole_weeks
from assistant.model.history import Agreement


@dataclass(frozen=True)
class Agreed:
    """What is agreed on a day, and since when. None where nothing says.

    turned: the last day fat loss began or ended, or food changed by so much that body water needs days to
    settle.
    maintenance_kcal_per_day, maintenance_since: as measured when something was agreed last; a log that
    is kept in another way since ends it. holds: a person agreed to the present hold.
    aimed_kcal_per_day: the food that is eaten by, agreed or set by hand. food_agreed_on: the day a review
    changed it last. sets_steps: agreed steps of weekly sets; less than 0 for fewer than usual.
    """

    energy_target_kcal_per_day: float | None = None
    food_since: dt.date | None = None
    aimed_kcal_per_day: float | None = None
    food_agreed_on: dt.date | None = None
    maintenance_kcal_per_day: float | None = None
    maintenance_since: dt.date | None = None
    phase: str | None = None
    holds: bool = False
    phase_since: dt.date | None = None
    block_since: dt.date | None = None
    sets_since: dt.date | None = None
    sets_steps: int = 0
    easier_since: dt.date | None = None
    log_since: dt.date | None = None
    turned: dt.date | None = None

    def phase_start(self, first: dt.date, settings: Settings) -> dt.date:
        """Return the first day whose weights belong to the present phase."""
        if self.turned is None or self.turned <= first:
            return first
        return self.turned + dt.timedelta(days=int(settings.settle_days))

    def rate_start(self, first: dt.date, settings: Settings) -> dt.date:
        """Return the first day whose weights tell the pace under what is agreed."""
        start = self.phase_start(first, settings)
        return max(start, self.food_since or start)

    def rate_weeks(self, first: dt.date, last: dt.date, settings: Settings) -> Window | None:
        """Return the whole weeks that tell the pace on a day; None without any."""
        return whole_weeks(self.rate_start(first, settings), last, settings.longest_weeks)


def agreement_of(
    facts: Mapping[str, Any], day: dt.date, *, is_first: bool, by_hand: Collection[str] = ()
) -> Agreement:
    """Return what a kept plan agrees, from its facts as plain data.

    Only a plan kept from an accepted review holds a decision; what it decided is agreed. The food of
    a phase that is moved to stands in the plan as the energy to aim for next. is_first: no plan was
    kept before, so a block begins. by_hand: facts a coach set by hand; food among them is eaten by and
    not agreed, so that the agreed figure is back when the change is withdrawn.
    """
    target, phase = facts.get("energy.target_kcal_per_day"), facts.get("phase.now")
    decided = facts.get("review.decision")
    if decided is not None:
        target = facts.get("review.next_target_kcal_per_day", target)
    if decided == "move_phase":
        target = facts.get("review.next_target_kcal_per_day")
        phase = facts.get("review.next_phase", phase)
    aimed: float | None = None
    decides_food = decided in {"adjust_energy", "move_phase"}
    if "energy.target_kcal_per_day" in by_hand and not decides_food:
        target, aimed = None, target
    rotates = facts.get("block.rotate_now") if decided is None else decided == "rotate_block"
    measured = facts.get("energy.measured_kcal_per_day")
    steers = measured == facts.get("energy.maintenance_kcal_per_day")
    return Agreement(
        day,
        energy_target_kcal_per_day=target,
        maintenance_kcal_per_day=measured if steers else None,
        phase=phase if phase in {"hold", "build", "cut"} else None,
        block_starts=is_first or bool(rotates),
        sets_changed=decided == "adjust_volume",
        easier_week=decided == "lighter_week",
        log_mended=decided == "repair_log",
        holds=decided is not None and phase == "hold",
        aimed_kcal_per_day=aimed,
        decides_food=decides_food,
        sets_step=_STEPS.get(str(facts.get("review.volume_direction")), 0) if decided else 0,
    )


def agreed_on(agreements: Iterable[Agreement], on: dt.date, large_kcal: float) -> Agreed:
    """Return what is agreed up to and including a day."""
    steps = _step_by_step(tuple(agreements), large_kcal)
    return next((agreed for day, agreed in reversed(steps) if day <= on), Agreed())


@lru_cache(maxsize=4)
def _step_by_step(
    agreements: tuple[Agreement, ...], large_kcal: float
) -> tuple[tuple[dt.date, Agreed], ...]:
    """Return what is agreed after each row, in order of days; asked for several days of one record."""
    agreed, steps = Agreed(), []
    for row in sorted(agreements, key=lambda one: one.day):
        agreed = _then(agreed, row, large_kcal)
        steps.append((row.day, agreed))
    return tuple(steps)


def _then(agreed: Agreed, row: Agreement, large_kcal: float) -> Agreed:
    """Return what is agreed once one more thing was."""
    changes: dict[str, Any] = {}
    target = row.energy_target_kcal_per_day
    moves = row.phase is not None and row.phase != agreed.phase
    if target is not None or (moves and agreed.phase is not None):
        # What was agreed for another phase says nothing about this one.
        changes["energy_target_kcal_per_day"] = target
    if moves:
        changes |= {"phase": row.phase, "phase_since": row.day}
        # Between holding and building food moves little; weeks of eating less are another matter.
        if agreed.phase is None or "cut" in {agreed.phase, row.phase}:
            changes["turned"] = row.day
    changes |= _aimed(agreed, row, large_kcal)
    if row.phase is not None:
        changes["holds"] = row.phase == "hold" and (row.holds or agreed.holds)
    if row.decides_food:
        changes["food_agreed_on"] = row.day
    if row.log_mended:
        changes |= {"maintenance_kcal_per_day": None, "maintenance_since": None}
    elif row.maintenance_kcal_per_day is not None:
        kept = row.maintenance_kcal_per_day
        changes |= {"maintenance_kcal_per_day": kept, "maintenance_since": row.day}
    changes["sets_steps"] = _steps(agreed.sets_steps, row.sets_step)
    for mark, since in _MARKS.items():
        if getattr(row, mark):
            changes[since] = row.day
    # Most rows of years change nothing, and a look at all clients reads them all.
    new_ones = {name: new for name, new in changes.items() if getattr(agreed, name) != new}
    return replace(agreed, **new_ones) if new_ones else agreed


def _aimed(agreed: Agreed, row: Agreement, large_kcal: float) -> dict[str, Any]:
    """Return what changes where the food that is eaten by becomes another."""
    before = agreed.aimed_kcal_per_day
    after = row.aimed_kcal_per_day or row.energy_target_kcal_per_day
    if after is None and row.phase not in {None, agreed.phase}:
        return {"aimed_kcal_per_day": None}
    if after is None or after == before:
        return {}
    is_large = before is not None and abs(after - before) >= large_kcal
    turned = {"turned": row.day} if is_large else {}
    return {"aimed_kcal_per_day": after, "food_since": row.day, **turned}


def _steps(so_far: int, step: int) -> int:
    """Count steps: one back from more is the usual again, fewer than usual is one step and no more."""
    if step < 0:
        return 0 if so_far > 0 else -1
    return so_far + step


_STEPS: Mapping[str, Literal[-1, 0, 1]] = {"more": 1, "less": -1}
_MARKS = {
    "block_starts": "block_since",
    "sets_changed": "sets_since",
    "easier_week": "easier_since",
    "log_mended": "log_since",
}
