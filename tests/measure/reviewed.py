"""Simulated clients under weekly reviews by the shipped rules, and the same clients on a fixed plan."""

import datetime as dt
import functools
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from statistics import NormalDist
from typing import Any

from simulator import MONTHS, Client

from assistant.calculate.registry import CALCULATORS
from assistant.clients.book import knowledge
from assistant.engine import CompiledBook, compile_knowledge, durable
from assistant.engine.answers import starting_facts
from assistant.engine.clips import ClipsBackend
from assistant.engine.session import run_session
from assistant.engine.terms import CaseFacts
from assistant.knowledge.walk import LEFT_OUT, WITHHELD, facts_read, facts_written
from assistant.measure import Findings, Person, agreement_of, measure
from assistant.model.history import (
    Agreement,
    DayNote,
    DayOfEating,
    History,
    SessionMark,
    TopSet,
    Weighing,
)
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.model.values import Status, Value
from assistant.plan.record import measure_settings

START = dt.date(2026, 1, 12)
WEEKS = 26
NINETY = NormalDist().inv_cdf(0.95)
PHASE = {"gain_muscle": "build", "lose_fat": "cut", "maintain": "hold"}
# Coach figures without a source, as in the simulator: the least rise worth having, % a week.
WORTH_HAVING = {"novice": 0.75, "intermediate": 0.35, "advanced": 0.15}


SETTINGS: dict[str, float] = {}  # other parameter values, to try them out by hand


@functools.cache
def book() -> tuple[KnowledgeBase, CompiledBook]:
    """The shipped book, compiled with only the rules a review rests on: others cannot change it."""
    kb = knowledge(None, None)
    if SETTINGS:
        kb = replace(kb, overlay=SETTINGS)
    return kb, compile_knowledge(replace(kb, rules=_below(kb)), START)


def _below(kb: KnowledgeBase) -> dict[str, Rule]:
    """Rules that conclude what the review reads, directly or through others."""
    wanted = {fact for fact in kb.facts if fact.startswith(("review.", "energy."))}
    rules: dict[str, Rule] = {}
    while True:
        more = {
            name: rule for name, rule in kb.rules.items()
            if name not in rules and facts_written(rule) & wanted
        }  # fmt: skip
        if not more:
            return dict(sorted(rules.items()))
        rules |= more
        wanted |= {fact for rule in more.values() for fact in facts_read(rule)} | {
            WITHHELD,
            LEFT_OUT,
        }


def facts_of(answers: Mapping[str, Value], on: dt.date, found: Findings | None = None) -> CaseFacts:
    """Return the final facts, without the verdict pass (which only explains)."""
    _, compiled = book()
    given = {**answers, **(found.values if found else {})}
    start = starting_facts(compiled, given, on)
    maker = durable.DurableBackend if durable.importable() else ClipsBackend
    backend = compiled.engines.get("review", maker, compiled.program)
    ranges = found.ranges if found else None
    return run_session(compiled, backend, start.values, CALCULATORS, ranges).facts


def answers_of(client: Client, clear: Mapping[str, Value]) -> dict[str, Value]:
    return {
        **clear,
        "client.sex_for_equations": client.sex,
        "client.age_years": float(client.age),
        "client.height_cm": client.height,
        "client.weight_kg": client.start_weight,
        # Who is at the weight they named is planned no fat loss, so those who want it name less.
        "client.goal_weight_kg": round(0.85 * client.start_weight, 1)
        if client.goal == "lose_fat"
        else Status.NONE,
        "client.body_fat_percent": client.told_fat_percent,
        "client.body_fat_method": "skinfold",
        "client.goal": client.goal,
        "client.training_age_months": float(MONTHS[client.level]),
        "client.daily_activity": "low_active",
        "client.minutes_per_session": 60.0,
        "screen.highest_adult_bmi": round(client.start_weight / (client.height / 100) ** 2, 1),
    }


# The weeks in which a coach's own figure of food stands in the plan, where one does.
BY_HAND_WEEKS = range(9, 15)


@dataclass
class Week:
    """One review: true pace (%/wk), maintenance true and as said, decision and whether it was right.

    for_the_lifts: food went up in fat loss because lifts fell, whatever the pace.
    strength: mean of the true maxima, by logarithms, %. falling: whether they truly fall by then.
    """

    number: int
    true_pace: float
    in_band: bool
    true_maintenance: float = 0.0
    said: tuple[float, float] | None = None  # value, 90 % half-width
    window_only: tuple[float, float] | None = None
    decision: str = "hold"
    energy_change: float = 0.0
    energy_was_wrong: bool = False
    for_the_lifts: bool = False
    lifts: str = ""
    stalled: bool = False
    slow: bool = False
    falling: bool = False
    strength: float = 0.0


@dataclass
class Course:
    """26 weeks of one client."""

    client: Client
    first_target: float
    weeks: list[Week] = field(default_factory=list)
    lean_kg: float = 0.0
    fat_kg: float = 0.0


class Record:
    """A history that grows by a day."""

    def __init__(self) -> None:
        self.target = 0.0  # the food that is agreed, kcal a day
        self.parts: dict[str, list[Any]] = {
            name: []
            for name in ("weighings", "eating", "top_sets", "sessions", "notes", "agreements")
        }

    def add(self, row: Mapping[str, Any]) -> None:
        day = START + dt.timedelta(days=row["day"])
        if "weight_kg" in row:
            self.parts["weighings"].append(Weighing(day, row["weight_kg"]))
        if "energy_kcal" in row:
            self.parts["eating"].append(DayOfEating(day, row["energy_kcal"]))
        if "session" in row:
            self.parts["sessions"].append(SessionMark(day, row["session"] == "done"))
        for lift, load, repetitions in row.get("sets", ()):
            self.parts["top_sets"].append(TopSet(day, lift, load, repetitions, 2.0))
        note = DayNote(
            day, sleep_hours=row["sleep_hours"], cycle_start=row.get("period_started", False)
        )
        self.parts["notes"].append(note)

    def agree(self, day: dt.date, **what: Any) -> None:
        self.parts["agreements"].append(Agreement(day, **what))

    def history(self) -> History:
        return History(**{name: tuple(rows) for name, rows in self.parts.items()})


def reviewed(
    seed: int,
    clear: Mapping[str, Value],
    *,
    weeks: int = WEEKS,
    act: bool = True,
    by_hand_kcal: float = 0.0,
) -> Course | None:
    """Live a client through weekly reviews; None if the screen leaves no energy figure.

    act: whether decisions are followed; without, the plan of the first day stays. by_hand_kcal: by so
    much a coach changes the agreed food by hand for some weeks (`BY_HAND_WEEKS`), and takes it back.
    """
    kb, _ = book()
    client = Client(seed)
    answers = answers_of(client, clear)
    settings = measure_settings(kb, START)
    fat = client.start_weight * client.told_fat_percent / 100
    person = Person(client.start_weight, fat)
    first = facts_of(answers, START).values
    target = first.get("energy.target_kcal_per_day")
    if not isinstance(target, float) or first.get("phase.now") != PHASE[client.goal]:
        return None
    course, record = Course(client, target), Record()
    weights = [client.body.weight]
    record.target = target
    record.agree(
        START, energy_target_kcal_per_day=target, phase=PHASE[client.goal], block_starts=True
    )
    for number in range(1, weeks + 1):
        by_hand = by_hand_kcal if number in BY_HAND_WEEKS else 0.0
        for _ in range(7):
            record.add(client.live(target + by_hand))
        weights.append(client.body.weight)
        # Food differs from day to day, so a true pace is that of four weeks, or since the start.
        back = weights[-min(len(weights), 5)]
        pace = 100 * (weights[-1] - back) / back / (min(len(weights), 5) - 1)
        if not act:
            course.weeks.append(_unreviewed(number, pace, first))
            continue
        on = START + dt.timedelta(days=number * 7 - 1)
        found = measure(record.history(), on, person, settings)
        facts = facts_of(answers, on, found)
        week = _week(number, client, pace, facts, found)
        course.weeks.append(week)
        record.target = target = _follow(client, week, facts, record, on)
        if week.decision == "move_phase" and "review.next_target_kcal_per_day" not in facts.values:
            # The food of a phase moved to is the rules' own, and is agreed with it.
            again = measure(record.history(), on, person, settings)
            own = facts_of(answers, on, again).values.get("energy.target_kcal_per_day", target)
            assert isinstance(own, float)
            record.target = target = own
            record.agree(on, energy_target_kcal_per_day=own)
        if by_hand_kcal and number + 1 in (BY_HAND_WEEKS.start, BY_HAND_WEEKS.stop):
            more = by_hand_kcal if number + 1 in BY_HAND_WEEKS else 0.0
            record.agree(on, aimed_kcal_per_day=target + more)
    course.lean_kg = client.body.lean - client.start_lean
    course.fat_kg = client.body.fat - client.start_fat
    return course


def band(values: Mapping[str, Any]) -> tuple[float, float]:
    """The band of the pace, from the parameters by phase and level."""
    kb, _ = book()

    def number(name: str) -> float:
        return kb.parameter_value(name, START).value

    if values["phase.now"] == "build":
        end = "_novice" if values["training.level"] == "novice" else ""
        return number(f"energy.gain_percent_low{end}"), number(f"energy.gain_percent_high{end}")
    if values["phase.now"] == "cut":
        return -number("review.loss_fast_percent"), -number("review.loss_slow_percent")
    return -number("review.hold_percent"), number("review.hold_percent")


def _unreviewed(number: int, pace: float, values: Mapping[str, Any]) -> Week:
    low, high = band(values)
    inside = low <= pace <= high
    return Week(number, pace, inside)


def _week(
    number: int, client: Client, pace: float, facts: CaseFacts, found: Findings | None
) -> Week:
    values = facts.values
    low, high = band(values)
    said = window = None
    measured = values.get("energy.measured_kcal_per_day")
    if isinstance(measured, float):
        ends = facts.ranges["energy.measured_kcal_per_day"]
        said = (measured, (float(ends[1] or 0) - float(ends[0] or 0)) / 2)
    if found is not None and found.food is not None:
        window = (found.food.maintenance_kcal_per_day, NINETY * found.food.standard_error_kcal)
    change = values.get("review.energy_change_kcal_per_day", 0.0)
    assert isinstance(change, float)
    lifts_ask = values.get("review.fall_cause") == "food" and values.get("phase.now") == "cut"
    wrong = (change > 0 and pace >= low) or (change < 0 and pace <= high)
    return Week(
        number, pace, low <= pace <= high, client.maintenance_in_log_units(), said, window,
        str(values.get("review.decision")), change, wrong, change > 0 and lifts_ask,
        str(values.get("review.lifts")),
        client.is_stalled, client.true_rise < WORTH_HAVING[client.level], client.is_falling,
        client.strength,
    )  # fmt: skip


def _follow(client: Client, week: Week, facts: CaseFacts, record: Record, on: dt.date) -> float:
    """Do what the review decides and agree to it; return the food that is agreed from then on, kcal."""
    values, draw = facts.values, client.draw
    if week.lifts == "falling" and week.decision not in {"hold", "look_into_fall", "rotate_block"}:
        client.falls_in_week = None
    if week.decision == "adjust_volume":
        client.stalls_in_week = None
    elif week.decision == "fix_first" and draw.random() < 0.5:
        client.attends = min(client.attends + 0.1, 0.95)
        client.sleeps = min(client.sleeps + 0.5, 7.5)
    agreed = agreement_of(values, on, is_first=False)
    if week.decision == "repair_log":
        # Half of them log better from then on; the others mend nothing.
        mends = draw.random() < 0.5
        client.under *= 0.5 if mends else 1.0
        agreed = replace(agreed, log_mended=mends)
    record.parts["agreements"].append(agreed)
    target = agreed.energy_target_kcal_per_day
    return record.target if target is None else target
