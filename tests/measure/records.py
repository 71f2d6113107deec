"""Records of invented clients without chance: a straight line of weight, even food and lifts."""

import datetime as dt
from collections.abc import Iterable

from assistant.model.history import (
    Agreement,
    DayNote,
    DayOfEating,
    History,
    SessionMark,
    TopSet,
    Weighing,
)

START = dt.date(2026, 1, 12)


def day(number: int) -> dt.date:
    return START + dt.timedelta(days=number)


def even(
    days: int,
    *,
    first: int = 0,
    weight: float = 60.0,
    kg_per_week: float = 0.0,
    kcal: float | None = 2150.0,
    phase: str | None = "build",
    target: float | None = 2150.0,
    sleep: float = 7.5,
    attends: bool = True,
    percent_per_week: float | None = None,
    agreements: Iterable[Agreement] = (),
    repetitions: int = 8,
) -> History:
    """A record of so many days, without those before `first`.

    percent_per_week: rise of two lifts, each done twice a week at so many repetitions, two in reserve.
    """
    lifts: list[TopSet] = []
    for number in range(first, days):
        if percent_per_week is not None and number % 7 in {0, 3}:
            load = 80.0 * (1 + percent_per_week / 100) ** (number / 7)
            # A fixed zigzag stands for scatter, without a trend of its own.
            load *= 1 + 0.01 * (-1) ** (number // 3)
            lifts += [
                TopSet(day(number), lift, load, repetitions, 2.0) for lift in ("row", "thrust")
            ]
    agreed = Agreement(day(first), target, phase, block_starts=True)  # type: ignore[arg-type]
    return History(
        weighings=tuple(Weighing(day(n), weight + kg_per_week * n / 7) for n in range(first, days)),
        eating=() if kcal is None else tuple(DayOfEating(day(n), kcal) for n in range(first, days)),
        top_sets=tuple(lifts),
        sessions=tuple(SessionMark(day(n), attends) for n in range(first, days) if n % 7 in {0, 3}),
        notes=tuple(DayNote(day(n), sleep_hours=sleep) for n in range(first, days)),
        agreements=(agreed, *agreements),
    )
