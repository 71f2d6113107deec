"""An invented client's weeks as rows of a record, by plain arithmetic: no code of the product is used.

Nobody is meant. Weights follow a given pace with a fixed scatter, food a given mean, lifts a given change
a week; what a week is like is told week by week.
"""

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

FIELDS = ("day", "weight_kg", "energy_kcal", "sleep_hours", "session", "exercise", "load_kg", "repetitions",
          "reserve", "waist_cm", "joint", "pain_0_to_10")  # fmt: skip
# A scatter that sums to nothing over two weeks, in kg: day to day weight moves by this much.
SCATTER_KG = (0.3, -0.2, 0.1, -0.4, 0.2, 0.0, -0.1, -0.3, 0.4, -0.1, 0.2, -0.2, 0.3, -0.2)
FOOD_KCAL = (-120, 60, 40, -30, 150, -80, -20)


@dataclass(frozen=True)
class Week:
    """What one week is like. pace: of weight, kg a week. lifts: change of all loads in % a week."""

    pace: float = 0.1
    food: float = 2400.0
    lifts: float = 0.5
    sleep: float = 7.5
    waist_cm: float = 72.0
    trains: bool = True
    tells: bool = True
    pains: Mapping[int, tuple[str, int]] = field(default_factory=dict)


def rows_of(
    first: dt.date,
    weight_kg: float,
    week: Week,
    lifts: Mapping[str, tuple[str, float]],
    number: int,
) -> tuple[list[dict[str, object]], float]:
    """Return the rows of a week and the weight at its end.

    lifts: by weekday, the lift told that day and its load in kg; days without one have no session.
    """
    rows: list[dict[str, object]] = []
    for place in range(7):
        day = first + dt.timedelta(days=place)
        weekday = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")[day.weekday()]
        row: dict[str, object] = {"day": day.isoformat()}
        now = weight_kg + week.pace * (place + 1) / 7
        row["weight_kg"] = round(now + SCATTER_KG[(7 * number + place) % 14], 1)
        row["energy_kcal"] = round(week.food + FOOD_KCAL[place])
        row["sleep_hours"] = week.sleep
        if weekday in lifts:
            row["session"] = "done" if week.trains else "missed"
            if week.trains:
                name, load = lifts[weekday]
                row |= {"exercise": name, "load_kg": load, "repetitions": 10, "reserve": 2}
        if place == 6:
            row["waist_cm"] = week.waist_cm
        if place in week.pains:
            row["joint"], row["pain_0_to_10"] = week.pains[place]
        rows.append(row)
    return rows, weight_kg + week.pace


def as_csv(rows: Sequence[Mapping[str, object]]) -> str:
    """Return rows as a file of a record."""
    text = io.StringIO()
    writer = csv.DictWriter(text, FIELDS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
