"""Invented clients who eat, train, weigh and log for months. Shares no code with the product.

Body: the dynamic energy model of Hall et al. 2011, Lancet 378:826 (simplified equations; constants
from memory): fat 9441 and lean 1816 kcal/kg, resting costs 3.2 and 22 kcal/d a kg, moving about 8 for each kg of body, laying down 180
and 230 kcal/kg, food's own cost 10 % of a change, adaptation 14 % of a change with 14 days' lag.
Lean tissue takes the share of Forbes 1987 times a factor of the person's own; training adds some lean
where energy is stored and keeps some where it is lost, with a spread of its own. Water: day-to-day noise that
follows its own past, a weekly rhythm (Turicchi 2020), a monthly one (Kanellakis 2023), and a
little with food. Logs: under-reporting (Capling 2017, Poslusna 2009), days missed. Figures of
spread without a source are ours.
"""

import math
import random
from dataclasses import dataclass, field
from statistics import fmean

FAT, LEAN = 9441.0, 1816.0
REST_FAT, REST_LEAN, MOVING = 3.2, 22.0, 8.0
BUILD_FAT, BUILD_LEAN = 180.0, 230.0
FOOD_COST, ADAPTS, ADAPT_DAYS = 0.10, 0.14, 14.0
FORBES = 10.4
DIRECTION_DAYS = 14.0

# National Academies 2023, low active, adults: c, a, h (cm), w.
EER = {"female": (575.77, 7.01, 6.60, 12.14), "male": (581.47, 10.83, 8.30, 14.94)}
EER_ERROR = {"female": 246.0, "male": 339.0}
# Coach figures without a source: rise of the maximum, % a week.
RISE = {"novice": 1.2, "intermediate": 0.45, "advanced": 0.12}
LEAN_KG_PER_WEEK = {"novice": 0.12, "intermediate": 0.05, "advanced": 0.02}
MONTHS = {"novice": 3, "intermediate": 30, "advanced": 84}
# Share of the maximum by repetitions to failure: the classic table (NSCA textbook; 1 to 10 second-hand,
# 11, 12, 15 and 20 from memory, those between filled in evenly). No formula of the product made it.
TABLE = (100, 95, 93, 90, 87, 85, 83, 80, 77, 75, 70, 67, 66.3, 65.7, 65, 64, 63, 62, 61, 60)
ZONES = ((6, 8), (8, 10), (10, 12), (12, 15))  # as sheets print them, each with 2 in reserve
FALL = 1.0  # % a week, while lifts fall
LIFTS = ("thrust_barbell", "pulldown_neutral", "leg_press_high_wide", "row_seated_neutral")


@dataclass
class Body:
    """Fat and lean mass in kg, what is eaten at balance, and the memory of adaptation."""

    fat: float
    lean: float
    other: float  # energy that neither mass explains, kcal/d
    at_start: float  # intake at balance on the first day
    adapted: float = 0.0
    direction: float = 0.0  # energy stored a day, over the last weeks

    @property
    def weight(self) -> float:
        return self.fat + self.lean

    def spent_at_rest_of_change(self, eaten: float) -> float:
        """Energy spent on a day apart from the cost of building tissue."""
        living = (REST_FAT + MOVING) * self.fat + (REST_LEAN + MOVING) * self.lean + self.other
        return living + FOOD_COST * (eaten - self.at_start) + self.adapted

    def balance(self) -> float:
        """Intake at which nothing is stored, with adaptation as it stands."""
        at_start = self.spent_at_rest_of_change(self.at_start)
        return (at_start - FOOD_COST * self.at_start) / (1.0 - FOOD_COST)

    def eat(self, eaten: float, forbes: float, trained_lean: float, kept: float) -> None:
        """Live one day.

        forbes: the person's own factor on Forbes' lean share. trained_lean: kg of lean a day that
        training adds where energy is stored. kept: share of Forbes' lean loss that lifting keeps.
        """
        stored = eaten - self.spent_at_rest_of_change(eaten)
        # The direction of weeks, not of a day, says where tissue comes from and goes to.
        self.direction += (stored - self.direction) / DIRECTION_DAYS
        lean_share = min(forbes * FORBES / (FORBES + self.fat), 0.8)
        if self.direction >= 0.0:
            fat_cost, lean_cost = FAT + BUILD_FAT, LEAN + BUILD_LEAN
            weight = stored / (lean_share * lean_cost + (1.0 - lean_share) * fat_cost)
            added = min(trained_lean, 0.4 * self.direction / lean_cost)
            lean = lean_share * weight + added
            fat = (stored - lean * lean_cost) / fat_cost
        else:
            lean_share *= 1.0 - kept
            weight = stored / (lean_share * LEAN + (1.0 - lean_share) * FAT)
            lean, fat = lean_share * weight, (1.0 - lean_share) * weight
        self.lean += lean
        self.fat = max(self.fat + fat, 1.0)
        self.adapted += (ADAPTS * (eaten - self.at_start) - self.adapted) / ADAPT_DAYS


@dataclass
class Client:
    """One invented client with a body, habits and luck of their own."""

    seed: int
    goal: str = ""
    sex: str = ""
    level: str = ""
    age: float = 0.0
    height: float = 0.0
    start_weight: float = 0.0
    start_fat_percent: float = 0.0
    under: float = 0.0
    rows: list[dict[str, object]] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw = self.draw = random.Random(self.seed)
        self.sex = "female" if draw.random() < 0.7 else "male"
        self.level = draw.choices(("novice", "intermediate", "advanced"), (3, 5, 2))[0]
        self.goal = draw.choices(("gain_muscle", "lose_fat", "maintain"), (6, 3, 1))[0]
        self.age = round(draw.uniform(20, 48))
        self.height = round(draw.gauss(166, 6) if self.sex == "female" else draw.gauss(179, 7), 1)
        middle = {"gain_muscle": 22.5, "lose_fat": 27.5, "maintain": 24.0}[self.goal]
        self.start_weight = round(draw.gauss(middle, 1.2) * (self.height / 100) ** 2, 1)
        fat = {"gain_muscle": 25, "lose_fat": 34, "maintain": 28}[self.goal]
        self.start_fat_percent = draw.gauss(fat - (9 if self.sex == "male" else 0), 3)
        self.told_fat_percent = round(min(max(self.start_fat_percent + draw.gauss(0, 4), 8), 50), 1)
        c, a, h, w = EER[self.sex]
        equation = c - a * self.age + h * self.height + w * self.start_weight
        self.days = 4
        training = (3.5 - 1.0) * self.start_weight * 1.0 * self.days / 7
        needs = equation + training + draw.gauss(0, EER_ERROR[self.sex])
        needs = max(needs, 1.25 * (REST_LEAN * self.start_weight * 0.75 + 370))
        lean = self.start_weight * (1 - self.start_fat_percent / 100)
        fat_kg = self.start_weight - lean
        other = needs - (REST_FAT + MOVING) * fat_kg - (REST_LEAN + MOVING) * lean
        self.body = Body(fat_kg, lean, other, needs)
        self.start_lean, self.start_fat = lean, fat_kg
        self.under = min(max(draw.gauss(0.13, 0.09), 0.0), 0.35)
        self.off_plan = draw.gauss(0, 0.03)
        self.food_scatter = draw.uniform(0.12, 0.25)
        self.logs_missed = draw.choice((0.0, 0.03, 0.08, 0.15))
        self.weighings_missed = draw.choice((0.0, 0.1, 0.2, 0.35))
        self.noise = draw.uniform(0.5, 0.9) / 100 * self.start_weight
        self.hangs = draw.uniform(0.1, 0.5)
        self.water = 0.0
        self.has_cycle = self.sex == "female" and draw.random() < 0.65
        self.swing = abs(draw.gauss(0.225, 0.1))
        self.cycle = draw.uniform(26, 31)
        self.phase = draw.uniform(0, self.cycle)
        self.notes_cycle = draw.random() < 0.7
        self.attends = min(max(draw.gauss(0.88, 0.1), 0.4), 1.0)
        self.sleeps = draw.gauss(7.2, 0.6)
        self.rise = RISE[self.level] * math.exp(draw.gauss(0, 0.35))
        self.lean_most = LEAN_KG_PER_WEEK[self.level] * math.exp(draw.gauss(0, 0.4)) / 7
        self.forbes = draw.uniform(0.7, 1.3)
        self.kept = draw.uniform(0.2, 0.8)
        # Every third client's lifts stand still from some week on, until something is changed.
        self.stalls_in_week = draw.randint(4, 12) if draw.random() < 0.35 else None
        # Every fourth of the others falls from some week on, until something is changed for it. A source of
        # chance of its own, so that the rest of the client stays who it was.
        apart = self.apart = random.Random(self.seed + 1_000_000)
        falls = self.stalls_in_week is None and apart.random() < 0.25
        self.falls_in_week = apart.randint(6, 16) if falls else None
        self.zone = apart.choice(ZONES)
        self.maximum = {lift: draw.uniform(50, 110) for lift in LIFTS}
        self.lift_water = dict.fromkeys(LIFTS, 0.0)
        self.food_water = 0.0
        self.day = 0

    @property
    def is_stalled(self) -> bool:
        return self.stalls_in_week is not None and self.day // 7 >= self.stalls_in_week

    @property
    def is_falling(self) -> bool:
        return self.falls_in_week is not None and self.day // 7 >= self.falls_in_week

    @property
    def strength(self) -> float:
        """Mean of the true maxima, by their logarithms, %."""
        return 100 * fmean(math.log(maximum) for maximum in self.maximum.values())

    @property
    def true_rise(self) -> float:
        """True change of the maxima, % a week."""
        if self.is_falling:
            return -FALL
        if self.is_stalled:
            return 0.0
        return self.rise * self.attends * (0.6 if self.goal == "lose_fat" else 1.0)

    def maintenance_in_log_units(self) -> float:
        return self.body.balance() * (1.0 - self.under)

    def live(self, target_in_log_units: float) -> dict[str, object]:
        """Live one day on a target and return what is logged of it."""
        draw, body, day = self.draw, self.body, self.day
        logged = target_in_log_units * (1 + self.off_plan) * (1 + draw.gauss(0, self.food_scatter))
        logged = max(logged, 600.0)
        eaten = logged / (1.0 - self.under)
        self.food_water += (0.001 * (eaten - body.at_start) - self.food_water) / 4
        self.water = self.hangs * self.water + math.sqrt(1 - self.hangs**2) * draw.gauss(
            0, self.noise
        )
        row: dict[str, object] = {"day": day}
        if draw.random() >= self.weighings_missed:
            rhythm = 0.00175 * body.weight * math.cos(2 * math.pi * (day % 7) / 7)
            if self.has_cycle:
                rhythm += self.swing * math.cos(2 * math.pi * (day + self.phase) / self.cycle)
            row["weight_kg"] = round(body.weight + self.water + self.food_water + rhythm, 1)
        if self.has_cycle and self.notes_cycle and (day + self.phase) % self.cycle < 1.0:
            row["period_started"] = True
        if draw.random() >= self.logs_missed:
            row["energy_kcal"] = round(logged)
        row["sleep_hours"] = round(min(max(draw.gauss(self.sleeps, 0.8), 3), 11), 1)
        if day % 7 in {0, 1, 3, 5}:
            self._train(row)
        for lift in LIFTS:
            self.maximum[lift] *= 1 + self.true_rise / 700
        trained = self.attends * (0.3 if self.is_stalled else 1.0)
        body.eat(eaten, self.forbes, self.lean_most * trained, self.kept)
        self.day += 1
        return row

    def _train(self, row: dict[str, object]) -> None:
        draw = self.draw
        if draw.random() >= self.attends:
            row["session"] = "missed"
            return
        row["session"] = "done"
        lifts = LIFTS[:2] if self.day % 7 in {0, 3} else LIFTS[2:]
        sets = []
        for lift in lifts:
            kept = 0.3
            self.lift_water[lift] = kept * self.lift_water[lift] + math.sqrt(
                1 - kept**2
            ) * draw.gauss(0, 0.03)
            repetitions = self.apart.randint(*self.zone)
            share = TABLE[repetitions + 2 - 1] / 100
            load = self.maximum[lift] * (1 + self.lift_water[lift]) * share
            sets.append((lift, round(load * 2) / 2, repetitions))
        row["sets"] = sets
