"""Over many invented people: does every rule fire for somebody, and do both engines agree?"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from assistant.engine import CompiledBook, EngineChoice, compile_knowledge, durable, run_engine
from assistant.engine.decide import Judge
from assistant.model.derivation import Holds, Reading, Verdict
from assistant.model.errors import EngineFault, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.finding import from_problems
from assistant.quality.people import People
from assistant.quality.records import need_a_record
from assistant.quality.runner import Ran, day_of, fast_engine, outcomes, people_of, ran
from assistant.quality.suite import Checked, Options, Subject

MOST_TOLD = 10
# Two engines and all verdicts cost several times a plain run.
PEOPLE_PER_COMPARISON = 15
MOST_STEPS = 3000
# After this many steps the search begins anew: the best so far may stand where no small change helps.
_ROUND = 100
_STARTS = 20
_FAR = 1e9


def check_reachability(subject: Subject, options: Options) -> Checked:
    """Which rules nobody reaches: first over many people, then aimed at each rule that is left."""
    kb = subject.book
    book = compile_knowledge(kb, day_of(options))
    count = 0
    reached: dict[str, str] = {}
    broken: list[Problem] = []
    for run in outcomes(book, options, subject.calculators):
        count += 1
        if run.outcome is None:
            broken.append(_broken(run.who, run.fault, kb))
            continue
        for owner in run.outcome.conclusions:
            reached.setdefault(book.rules[owner].rule.id, run.who)
    kept = need_a_record(kb)
    in_force = {
        bound.rule.id for bound in book.rules if bound.in_force and bound.rule.id not in kept
    }
    searched = 0
    for rule_id in sorted(in_force - set(reached)):
        steps = search_for(book, options, rule_id, subject.calculators)
        searched += len(steps)
        if steps and steps[-1].fired:
            reached[rule_id] = f"a person aimed at {rule_id}"
    missed = sorted(in_force - set(reached))
    unreached = [
        Problem(
            kb.place("rule", rule_id),
            "unreached-rule",
            f"{rule_id} fired for none of {count} people, nor of {MOST_STEPS} aimed at it; "
            "see if its conditions can meet, or try more people with --people",
        )
        for rule_id in missed
    ]
    said = (
        f"{len(in_force - set(missed))} of {len(in_force)} rules fired for one of {count} people "
        f"(or of {searched} more, aimed at what was left)"
    )
    if kept:
        said += f"; {len(kept)} rules need a client's record, which these people do not have"
    details = {
        "people": count,
        "aimed": searched,
        "rules": len(in_force),
        "unreached": missed,
        "need_a_record": sorted(kept),
    }
    found = from_problems([*unreached, *broken[:MOST_TOLD]], "reachability")
    return Checked("reachability", found, said, details)


def _broken(who: str, fault: str, kb: KnowledgeBase) -> Problem:
    """A run that broke off, at the rule its message names."""
    rule_id = re.search(r"rules? ([A-Z]{3}-[A-Z0-9_-]+)", fault)
    is_known = rule_id is not None and rule_id[1] in kb.rules
    place = kb.place("rule", rule_id[1]) if rule_id and is_known else kb.front_page
    fix = "let the rules that meet there exclude each other, or guard the calculation"
    return Problem(place, "broken-run", f"there is no plan for {who}: {fault}; {fix}")


def check_engines(subject: Subject, options: Options) -> Checked:
    """Whether both engines and the verdict pass agree on every case and person."""
    engine: EngineChoice = "both" if durable.importable() else "clips"
    kb = subject.book
    book = compile_knowledge(kb, day_of(options))
    fewer = replace(options, people=options.people // PEOPLE_PER_COMPARISON)
    differ: list[Problem] = []
    count = 0
    for who, answers in people_of(book, fewer):
        count += 1
        try:
            run_engine(book, answers, book.on, engine=engine, calculators=subject.calculators)
        except EngineFault as fault:
            fix = "look at the rules it names; no plan is given out on a difference"
            differ.append(Problem(kb.front_page, "engines-differ", f"{who}: {fault}; {fix}"))
    found = from_problems(differ[:MOST_TOLD], "engines")
    if engine == "clips":
        said = "only CLIPS is installed here; nothing to compare it with but the verdict pass"
        return Checked("engines", found, said, {"engines": 1})
    said = f"both engines and the verdict pass agree on {count - len(found)} of {count} people"
    return Checked("engines", found, said, {"engines": 2, "people": count})


@dataclass(frozen=True)
class Step:
    """One person tried. short_of: clauses in the way, and how far the numbers are off in all."""

    run: Ran
    fired: bool
    short_of: tuple[int, float]


def search_for(
    book: CompiledBook, options: Options, rule_id: str, calculators: Mapping[str, Any]
) -> list[Step]:
    """Return the persons tried; the last one fired the rule, if any did.

    The first of each round come from the rule's tests; then the round's best is changed a little at a
    time, and a change that brings the rule no further away is kept.
    """
    made = People(book.kb, book.on, [case.answers for _, case in options.cases])
    backend = fast_engine(book)
    steps: list[Step] = []
    best: Step | None = None
    for number in range(MOST_STEPS):
        if number % _ROUND == 0:
            best = None
        if best is None or number % _ROUND < _STARTS:
            answers = made.aimed_at(rule_id, number)
        else:
            answers = made.changed(best.run.answers, rule_id, number)
        step = _step(book, rule_id, ran(book, backend, "aimed", answers, calculators))
        steps.append(step)
        if step.fired:
            break
        if best is None or step.short_of <= best.short_of:
            best = step
    return steps


def _step(book: CompiledBook, rule_id: str, run: Ran) -> Step:
    nearest = (len(book.rules), _FAR)
    if run.facts is None:
        return Step(run, fired=False, short_of=nearest)
    for bound in book.rules:
        if bound.rule.id != rule_id:
            continue
        verdict, readings = Judge(run.facts).decide(bound)
        if verdict is Verdict.FIRED:
            return Step(run, fired=True, short_of=(0, 0.0))
        nearest = min(nearest, _short_of(readings))
    return Step(run, fired=False, short_of=nearest)


def _short_of(readings: tuple[Reading, ...]) -> tuple[int, float]:
    in_the_way = [each for each in readings if _is_in_the_way(each)]
    # What is no number has no margin: it is as far as can be, or a person would be kept whom no small change helps.
    far = sum(_FAR if each.margin is None else abs(each.margin) for each in in_the_way)
    return len(in_the_way), far


def _is_in_the_way(reading: Reading) -> bool:
    if reading.role == "when":
        return reading.holds is not Holds.TRUE
    if reading.role == "unless":
        return reading.holds is not Holds.FALSE
    return reading.holds is Holds.TRUE
