"""What is agreed on a day, and from which day on weights may be read together."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from assistant.measure.settings import Settings
from assistant.measure.trend import Window, whole_weeks
from assistant.model.history import Agreement


@dataclass(frozen=True)
class Agreed:
    """What is agreed on a day, and since when. None where nothing says.

    turned: the last change of phase, or of food by so much that body water needs days to settle.
    """

    energy_target_kcal_per_day: float | None = None
    food_since: dt.date | None = None
    phase: str | None = None
    phase_since: dt.date | None = None
    block_since: dt.date | None = None
    sets_since: dt.date | None = None
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


def agreed_on(agreements: Iterable[Agreement], on: dt.date, large_kcal: float) -> Agreed:
    """Return what is agreed up to and including a day."""
    target: float | None = None
    phase: str | None = None
    since: dict[str, dt.date] = {}
    for row in sorted(agreements, key=lambda one: one.day):
        if row.day > on:
            break
        new = row.energy_target_kcal_per_day
        if new not in {None, target}:
            if target is not None and new is not None and abs(new - target) >= large_kcal:
                since["turned"] = row.day
            target, since["food"] = new, row.day
        if row.phase not in {None, phase}:
            phase = row.phase
            since["phase"] = since["turned"] = row.day
        for name in ("block_starts", "sets_changed", "easier_week", "log_mended"):
            if getattr(row, name):
                since[name] = row.day
    return Agreed(
        energy_target_kcal_per_day=target,
        food_since=since.get("food"),
        phase=phase,
        phase_since=since.get("phase"),
        block_since=since.get("block_starts"),
        sets_since=since.get("sets_changed"),
        easier_since=since.get("easier_week"),
        log_since=since.get("log_mended"),
        turned=since.get("turned"),
    )
