"""Whole runs of a base person with changes, and what in them would let a person eat below maintenance."""

import datetime as dt
import functools
from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st
from screening import DAY, case_answers, checked, knowledge
from shipped import planner_on
from test_no_deficit import FOOD

from assistant.calculate.registry import CALCULATORS
from assistant.engine import CompiledBook, compile_knowledge, durable, run_engine
from assistant.engine.answers import starting_facts
from assistant.engine.run import MAKERS, EngineChoice, compare, engine_kinds
from assistant.engine.session import run_session
from assistant.model.case import Case
from assistant.model.derivation import FactValue, Records, Run
from assistant.model.values import Value
from assistant.plan import Planner

ENGINES: EngineChoice = "both" if durable.importable() else "clips"
WEEK = {
    "client.available_days": ["mon", "wed", "fri"],
    "client.shape_goal": "hourglass",
    "client.sleep_hours": 8,
    "client.goal_weight_kg": "none",
    "client.body_fat_percent": "none",
    "client.target_date": "2026-08-03",
    # Asked for, so that the gate is tried where a fat loss would be laid out.
    "client.cut_before_date": True,
}
# What a figure of food is called; a plan without figures has none of them.
FOOD_FIGURES = ("energy.", "protein.", "fat.", "carbohydrate.", "fibre.", "weight.gain")


# In a long search every engine there is runs one person in five, and CLIPS the others: it is the quicker.
MOSTLY_ONE = st.sampled_from((ENGINES, *(("clips",) * 4)))


@functools.cache
def whole_book() -> CompiledBook:
    """The shipped book with every stage."""
    return compile_knowledge(knowledge(), DAY)


def answers_of(
    base: str, changes: Mapping[str, Any], more: Mapping[str, Any] | None = None
) -> dict[str, Value]:
    """Return checked answers of a base person: changes by screen key, more by fact id."""
    return checked(case_answers(base, changes) | FOOD | WEEK | dict(more or {}))


def run_person(
    base: str,
    changes: Mapping[str, Any],
    more: Mapping[str, Any] | None = None,
    engine: EngineChoice = "clips",
    record: Mapping[str, Value] | None = None,
) -> Run:
    """Run the whole book; `record` holds facts that a client's record would give."""
    given = {**answers_of(base, changes, more), **(record or {})}
    return run_engine(whole_book(), given, DAY, engine, CALCULATORS)


def facts_of_person(
    base: str,
    changes: Mapping[str, Any],
    more: Mapping[str, Any] | None = None,
    record: Mapping[str, Value] | None = None,
    engines: EngineChoice = ENGINES,
) -> Run:
    """Run the whole book on the engines given, without the pass that explains each rule.

    The engines must agree; a yes/no that nobody concluded is absent.
    """
    book = whole_book()
    given = {**answers_of(base, changes, more), **(record or {})}
    values = starting_facts(book, given, DAY).values
    backends = [
        book.engines.get(kind, MAKERS[kind], book.program) for kind in engine_kinds(engines)
    ]
    outcomes = [run_session(book, backend, values, CALCULATORS) for backend in backends]
    for other in outcomes[1:]:
        compare(book, outcomes[0], other)
    found = outcomes[0].facts
    facts = {
        key: FactValue(each, *found.ranges.get(key, (None, None)), key=key)
        for key, each in found.values.items()
    }
    return Run(facts=facts, records=Records(0, {}.__getitem__, {}, {}))


def value(run: Run, key: str) -> Any:
    """Return a fact's value, None where nothing was concluded."""
    found = run.facts.get(key)
    return None if found is None else found.value


def deficits(run: Run) -> list[str]:
    """Return everything in a run that plans, lays out or proposes to eat below maintenance."""
    found = []
    if value(run, "phase.now") == "cut" or value(run, "review.next_phase") == "cut":
        found.append("a phase of fat loss")
    laid_out = ("phase.cut_from", "phase.cut_until", "phase.cut_weeks", "advice.phase_cut_begins",
                "advice.phase_cut_ends", "note.loss_rate", "advice.cut_end")  # fmt: skip
    found += [key for key in laid_out if value(run, key) not in {None, False}]
    maintenance = value(run, "energy.maintenance_kcal_per_day")
    for key in ("energy.target_kcal_per_day", "review.next_target_kcal_per_day"):
        target = value(run, key)
        # Where maintenance is not known, nobody could tell that a target is not below it.
        if target is not None and (maintenance is None or target < maintenance - 1e-6):
            found.append(key)
    surplus = run.facts.get("energy.surplus_kcal_per_day")
    if surplus is not None:
        found += [
            "energy.surplus_kcal_per_day"
            for end in (surplus.value, surplus.low)
            if isinstance(end, float) and end < 0
        ]
    weight = value(run, "client.weight_kg")
    for key in ("phase.weight_at_date_kg", "phase.weight_after_build_kg"):
        end = run.facts.get(key)
        if end is not None and end.low is not None and end.low < weight - 1e-6:
            found.append(key)
    return found


def food_figures(run: Run) -> list[str]:
    """Return the figures of food and of weight to come that a run concluded."""
    return [
        key
        for key, fact in run.facts.items()
        if key.startswith((*FOOD_FIGURES, "phase.weight", "review.next_target"))
        and isinstance(fact.value, float)
    ]


@functools.cache
def _planner() -> Planner:
    return planner_on(DAY)


def page(
    base: str, changes: Mapping[str, Any], more: Mapping[str, Any] | None, reader: str
) -> dict[str, str]:
    """Return the lines of a plan for one reader by id."""
    planner = _planner()
    case = Case("Invented Person", dt.date(2026, 1, 12), answers_of(base, changes, more))
    narrator = planner.narrator(planner.run(case), reader)  # type: ignore[arg-type]
    plan = planner.plan(case, narrator)
    return {line.id: line.text for section in plan.sections for line in section.lines}
