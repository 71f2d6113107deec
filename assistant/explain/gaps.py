"""How far one clause is from letting its rule fire: what is missing, in the fact's own unit.

A condition (`when`) has to hold; a brake (`unless`, an excuse, a withheld output) has to let
through. Both are brought to one question: which value of the fact is the nearest that would do?
"""

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.engine.bound import BoundClause
from assistant.engine.readings import SIGN_TESTS
from assistant.engine.terms import FactRef
from assistant.model.derivation import Holds, Reading
from assistant.model.facts import Combine, FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value

# What a brake must not meet, said as what must hold instead.
_OPPOSITE: Mapping[str, str] = {
    "at_least": "less_than",
    "less_than": "at_least",
    "at_most": "more_than",
    "more_than": "at_most",
    "equals": "is_not",
    "is_not": "equals",
    "has": "lacks",
    "lacks": "has",
    "one_of": "none_of",
    "not_empty": "empty",
    "status": "status_not",
}
_ORDERED = frozenset({"at_least", "at_most", "more_than", "less_than"})
# A clause that no number measures counts as far as one can be; so does an open answer.
FULL = 1.0
_DECIMALS_KEPT = 9
_DAYS_A_YEAR = 365.0


@dataclass(frozen=True)
class Gap:
    """One clause that keeps a rule from firing.

    needed: the test that has to hold (a brake's own test turned round). distance: how far the
    nearest value that would do lies, always positive, in the fact's unit (ranks for an ordered
    choice, items for lists and counts, days for dates); None where nothing measures it.
    reach: that nearest value. relative: distance against the larger of both sides, 0 to 1.
    is_open: the answer is missing, so the clause is neither met nor failed.
    """

    clause: BoundClause
    reading: Reading
    needed: str
    distance: float | None
    reach: Value | None
    relative: float
    is_open: bool


def step_of(fact: FactDeclaration) -> float:
    """Return the smallest change of a fact that people speak of, in its unit."""
    if fact.type is FactType.INTEGER:
        return 1.0
    return float(10.0 ** -max(fact.decimals, 0))


def is_ordered(fact: FactDeclaration) -> bool:
    """Tell whether the choices of a fact stand in an order that counts."""
    return fact.type is FactType.CHOICE and fact.combine in {Combine.MIN, Combine.MAX}


def gap(clause: BoundClause, reading: Reading, kb: KnowledgeBase) -> Gap | None:
    """Return what keeps a rule from firing at this clause; None if the clause is no obstacle."""
    brake = clause.role != "when"
    if reading.holds is Holds.UNKNOWN:
        if clause.role == "excused_by":
            return None
        return Gap(clause, reading, _needed(clause), None, None, FULL, is_open=True)
    if (reading.holds is Holds.TRUE) != brake:
        return None
    needed = _needed(clause)
    distance, reach, relative = _measure(clause, reading, needed, kb)
    return Gap(clause, reading, needed, distance, reach, relative, is_open=False)


def _needed(clause: BoundClause) -> str:
    return clause.operator if clause.role == "when" else _OPPOSITE[clause.operator]


def _measure(
    clause: BoundClause, reading: Reading, needed: str, kb: KnowledgeBase
) -> tuple[float | None, Value | None, float]:
    """Return distance, nearest value that would do, and relative distance."""
    have, want = reading.have, reading.want
    ref = clause.subjects[0]
    fact = kb.facts[ref.fact_id]
    if needed in {"has", "lacks", "not_empty"}:
        return 1.0, None, FULL
    if needed == "empty":
        items = float(len(have)) if isinstance(have, tuple) else 1.0
        return items, (), FULL
    if _is_number(have) and _is_number(want):
        return _numbers(float(have), float(want), needed, _step(clause, fact))  # type: ignore[arg-type]
    if fact.type is FactType.CHOICE and ref.order and not isinstance(have, Status):
        return _choices(ref, have, want, needed, ordered=needed in _ORDERED or is_ordered(fact))
    if fact.type is FactType.DATE and needed in _ORDERED and have and want:
        return _dates(str(have), str(want), needed)
    reach = want if needed == "equals" else None
    if needed in {"equals", "is_not"} and isinstance(have, bool):
        reach = not have
    return None, reach, FULL


def _step(clause: BoundClause, fact: FactDeclaration) -> float:
    return 1.0 if clause.counting else step_of(fact)


def _numbers(have: float, want: float, needed: str, step: float) -> tuple[float, float, float]:
    """Return distance and nearest value for a comparison of numbers.

    A line that must only be reached is met on the line; one that must be passed is passed by the
    smallest step that people speak of.
    """
    reach = want
    whole = step >= 1
    if needed in {"at_least", "at_most"} and whole:
        reach = (math.ceil if needed == "at_least" else math.floor)(_tidy(want / step)) * step
    elif needed == "more_than":
        reach = (math.floor(_tidy(want / step)) + 1) * step
    elif needed == "less_than":
        reach = (math.ceil(_tidy(want / step)) - 1) * step
    elif needed == "is_not":
        reach = want + step
    reach, distance = _tidy(reach), _tidy(abs(reach - have))
    larger = max(abs(have), abs(reach))
    return distance, reach, min(FULL, distance / larger) if larger else FULL


def _choices(
    ref: FactRef, have: Value | None, want: Value | None, needed: str, *, ordered: bool
) -> tuple[float | None, Value | None, float]:
    """Return ranks to the nearest choice that would do; unordered choices have no distance."""
    fits = [choice for choice in ref.order if _fits(ref, choice, want, needed)]
    if not fits or have not in ref.order:
        return None, None, FULL
    here = ref.order.index(str(have))
    if not ordered:
        return None, fits[0] if len(fits) == 1 else None, FULL
    nearest = min(fits, key=lambda choice: (abs(ref.order.index(choice) - here), choice))
    ranks = float(abs(ref.order.index(nearest) - here))
    return ranks, nearest, ranks / max(len(ref.order) - 1, 1)


def _fits(ref: FactRef, choice: str, want: Value | None, needed: str) -> bool:
    if needed in {"one_of", "none_of"}:
        return (isinstance(want, tuple) and choice in want) == (needed == "one_of")
    if needed in {"equals", "is_not"}:
        return (choice == want) == (needed == "equals")
    if want not in ref.order:
        return False
    above = ref.order.index(choice) - ref.order.index(str(want))
    return needed in _ORDERED and SIGN_TESTS[needed][1](above)


def _dates(have: str, want: str, needed: str) -> tuple[float, str, float]:
    line = dt.date.fromisoformat(want)
    days = {"more_than": 1, "less_than": -1}.get(needed, 0)
    reach = line + dt.timedelta(days=days)
    distance = float(abs((reach - dt.date.fromisoformat(have)).days))
    return distance, reach.isoformat(), min(FULL, distance / _DAYS_A_YEAR)


def _is_number(value: Value | None) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _tidy(value: float) -> float:
    return round(value, _DECIMALS_KEPT) + 0.0
