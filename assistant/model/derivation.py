"""One shape for every explanation: what a rule made of the facts, and why."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeAlias

from assistant.model.case import Override
from assistant.model.sources import Certainty
from assistant.model.values import FactKey, Value


class Verdict(StrEnum):
    """What became of one rule for one binding.

    failed_at: a `when` clause is known not to hold. needs: an answer is missing.
    blocked_by: an `unless`, an excuse or a withheld output stands in the way.
    overridden: it fired, but the conclusions of other rules took precedence over all of its own.
    not_in_force: the as-of date is outside the rule's dates.
    """

    FIRED = "fired"
    FAILED_AT = "failed_at"
    BLOCKED_BY = "blocked_by"
    NEEDS = "needs"
    OVERRIDDEN = "overridden"
    NOT_IN_FORCE = "not_in_force"


class Holds(StrEnum):
    """Three-valued truth of a clause."""

    TRUE = "true"
    FALSE = "false"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Reading:
    """How one clause read the facts.

    role: when, unless, excused_by or withheld. address: e.g. `when.0`, `when.1.any_of.0`.
    margin: have minus want for comparisons of numbers, in the fact's unit; None elsewhere.
    against: the facts that `want` is worked out from, so it tells of them, too.
    """

    role: str
    address: str
    fact: FactKey
    operator: str
    want: Value | None
    have: Value | None
    holds: Holds
    margin: float | None = None
    against: tuple[FactKey, ...] = ()

    @property
    def tells_of(self) -> tuple[FactKey, ...]:
        """Every fact of which the figures tell something; a count's are joined by commas in `fact`."""
        return (*self.fact.split(","), *self.against)


@dataclass(frozen=True)
class Quantity:
    """A worked-out value with its range, if it has one, and how it was found. Dates are ISO text."""

    value: Value
    low: float | None = None
    high: float | None = None
    method: str | None = None


@dataclass(frozen=True, kw_only=True)
class Concluded(Quantity):
    """One conclusion of a fired rule, before conclusions of several rules are combined."""

    fact: FactKey


@dataclass(frozen=True)
class Derivation:
    """The record of one rule for one binding.

    id: `d` and a number in the order of rule id and binding, for fired rules; "" for the rest.
    rests_on: ids of answers (`a:<fact>`) and derivations this one used. parameters: `name@date`.
    weakest: the weakest grade on the whole chain below and including this rule.
    """

    id: str
    rule_id: str
    rule_hash: str
    binding: Mapping[str, str]
    verdict: Verdict
    readings: tuple[Reading, ...]
    conclusions: tuple[Concluded, ...] = ()
    rests_on: tuple[str, ...] = ()
    parameters: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    grade: Certainty = Certainty.STRONG
    weakest: Certainty = Certainty.STRONG
    because: str = ""
    client_because: str = ""


@dataclass(frozen=True, kw_only=True)
class FactValue(Quantity):
    """A final fact: value, range, and the derivations (or the answer) it comes from.

    ruled: what the rules say, where the value was set by hand; range and derivations are theirs.
    """

    key: FactKey
    derivations: tuple[str, ...] = ()
    grade: Certainty = Certainty.STRONG
    ruled: Value | None = None


Facts: TypeAlias = Mapping[FactKey, FactValue]


def number_in(facts: Facts, key: FactKey) -> float | None:
    """Return a fact's number, None where it has none."""
    value = facts[key].value if key in facts else None
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def items_in(facts: Facts, key: FactKey) -> tuple[str, ...]:
    """Return the items of a list fact, none where nothing was concluded."""
    value = facts[key].value if key in facts else None
    return value if isinstance(value, tuple) else ()


def word_in(facts: Facts, key: FactKey, otherwise: str = "") -> str:
    """Return a fact's word (a choice, a text, a status), or another where there is no such fact."""
    return str(facts[key].value) if key in facts else otherwise


def day_in(facts: Facts, key: FactKey) -> dt.date | None:
    """Return a fact's day, None where it has none."""
    try:
        return dt.date.fromisoformat(word_in(facts, key))
    except ValueError:
        return None


class Records:
    """The records of a run, one for every rule and binding; each is made when first asked for.

    make: makes the record at a place. fired: the places of records with an id, by that id.
    of_rules: the places of each rule's bindings, by rule id.
    """

    def __init__(
        self,
        count: int,
        make: Callable[[int], Derivation],
        fired: Mapping[str, int],
        of_rules: Mapping[str, Iterable[int]],
    ) -> None:
        self._made: list[Derivation | None] = [None] * count
        self._make = make
        self._fired = fired
        self._of_rules = of_rules

    def __len__(self) -> int:
        return len(self._made)

    def __getitem__(self, place: int) -> Derivation:
        made = self._made[place]
        if made is None:
            made = self._made[place] = self._make(place)
        return made

    def __iter__(self) -> Iterator[Derivation]:
        return map(self.__getitem__, range(len(self)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Records) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]  # as any list

    def fired(self) -> Iterator[Derivation]:
        """Yield the records of fired rules, in order."""
        return map(self.__getitem__, self._fired.values())

    def with_id(self, derivation_id: str) -> Derivation:
        """Return a fired rule's record by its id; KeyError if there is none."""
        return self[self._fired[derivation_id]]

    def of_rule(self, rule_id: str) -> Iterator[Derivation]:
        """Yield the records of one rule, in the order of its bindings."""
        return map(self.__getitem__, self._of_rules.get(rule_id, ()))

    def mapped(self, change: Callable[[Derivation], Derivation]) -> "Records":
        """Return the records with a change made to each when it is asked for; ids stay."""
        return Records(len(self), lambda n: change(self[n]), self._fired, self._of_rules)


@dataclass(frozen=True)
class Run:
    """Outcome of one run of the engine.

    facts: every final fact by key, answers included. records: one Derivation for every rule and
    binding, fired or not, in a fixed order. assumptions: fact ids that took a declared default.
    engine: which engine ran, e.g. `durable_rules 2.0.28`. by_hand: the change behind each fact that was
    set by hand. set_aside: changes in force that do not hold on the day, with the reason.
    """

    facts: Mapping[FactKey, FactValue]
    records: Records
    assumptions: tuple[str, ...] = ()
    engine: str = ""
    by_hand: Mapping[FactKey, Override] = field(default_factory=dict)
    set_aside: tuple[tuple[Override, str], ...] = ()

    def derivation(self, derivation_id: str) -> Derivation:
        """Return a fired derivation by id; KeyError if there is none."""
        return self.records.with_id(derivation_id)
