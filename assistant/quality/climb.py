"""Looks for a person for whom one rule fires, step by step from its own tests towards firing."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant.engine import CompiledBook
from assistant.engine.decide import decide
from assistant.model.derivation import Holds, Reading, Verdict
from assistant.quality.people import People
from assistant.quality.runner import Ran, fast_engine, ran
from assistant.quality.suite import Options

MOST_STEPS = 900
# After this many steps the search begins anew: the best so far may stand where no small change helps.
_ROUND = 100
_STARTS = 20
_FAR = 1e9


@dataclass(frozen=True)
class Step:
    """One person tried. short_of: clauses in the way, and how far the numbers are off in all."""

    run: Ran
    fired: bool
    short_of: tuple[int, float]


def climb(
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
        verdict, readings = decide(bound, run.facts)
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
