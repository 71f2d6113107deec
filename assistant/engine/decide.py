"""The verdict on one rule for one element, and what it concludes if it fires."""

from collections.abc import Iterable

from assistant.engine.bound import BoundClause, BoundConclusion, BoundRule
from assistant.engine.readings import read_clause, weigh
from assistant.engine.terms import CaseFacts, evaluate, number
from assistant.model.derivation import Concluded, Holds, Reading, Verdict
from assistant.model.errors import EngineFault
from assistant.model.facts import FactType
from assistant.model.values import Value

_LEAST_TO_MOST = (Holds.FALSE, Holds.UNKNOWN, Holds.TRUE).index


class Judge:
    """Judges rules over given facts. Rules share clauses: each is weighed once, when first asked for.

    What a clause reads must stand still from then on; the rules must be kept by whoever asks.
    """

    def __init__(self, facts: CaseFacts) -> None:
        self._facts = facts
        # By identity: a compiled book has one object for all clauses that are equal.
        self._holds: dict[int, Holds] = {}
        self._readings: dict[int, Reading] = {}

    def holds(self, clause: BoundClause) -> Holds:
        """Return whether a clause holds."""
        found = self._holds.get(id(clause))
        if found is None:
            found = self._holds[id(clause)] = weigh(clause, self._facts).holds
        return found

    def fires(self, bound: BoundRule) -> bool:
        """Tell whether a rule's verdict is FIRED, looking no further than the first obstacle."""
        if not bound.in_force:
            return False
        known, holds = self._holds.get, self.holds
        for group in bound.when:
            for clause in group:
                if (known(id(clause)) or holds(clause)) is Holds.TRUE:
                    break
            else:
                return False
        return all(_in_the_way(brake, holds(brake)) is Holds.FALSE for brake in bound.brakes)

    def says(self, bound: BoundRule) -> tuple[Concluded, ...]:
        """Return what a rule concludes; nothing if it does not fire."""
        return conclude(bound, self._facts) if self.fires(bound) else ()

    def decide(self, bound: BoundRule) -> tuple[Verdict, tuple[Reading, ...]]:
        """Return the verdict and the readings of all clauses.

        A failed condition outweighs a brake, and a brake outweighs an open question.
        """
        if not bound.in_force:
            return Verdict.NOT_IN_FORCE, ()
        readings = tuple(map(self._reading, bound.clauses()))
        groups = (_most(map(self.holds, group)) for group in bound.when)
        conditions = min(groups, key=_LEAST_TO_MOST, default=Holds.TRUE)
        brakes = _most(_in_the_way(brake, self.holds(brake)) for brake in bound.brakes)
        if conditions is Holds.FALSE:
            verdict = Verdict.FAILED_AT
        elif brakes is Holds.TRUE:
            verdict = Verdict.BLOCKED_BY
        elif conditions is Holds.UNKNOWN or brakes is Holds.UNKNOWN:
            verdict = Verdict.NEEDS
        else:
            verdict = Verdict.FIRED
        return verdict, readings

    def _reading(self, clause: BoundClause) -> Reading:
        found = self._readings.get(id(clause))
        if found is None:
            found = self._readings[id(clause)] = read_clause(clause, self._facts)
            self._holds[id(clause)] = found.holds
        return found


def _most(states: Iterable[Holds]) -> Holds:
    """Return the outcome of alternatives."""
    return max(states, key=_LEAST_TO_MOST, default=Holds.FALSE)


def _in_the_way(brake: BoundClause, holds: Holds) -> Holds:
    """Return whether a brake holds a rule back. Only a known excuse excuses, so an open one does not."""
    return Holds.FALSE if holds is Holds.UNKNOWN and brake.role == "excused_by" else holds


def conclude(bound: BoundRule, facts: CaseFacts) -> tuple[Concluded, ...]:
    """Work out what a fired rule says. An added group gives one conclusion for each member.

    Raises EngineFault, naming the rule, if a value does not suit the fact's declared type.
    """
    concluded: list[Concluded] = []
    for conclusion in bound.conclusions:
        try:
            concluded.extend(_conclude(conclusion, facts))
        except EngineFault as fault:
            where = bound.rule.id if bound.element is None else f"{bound.rule.id}[{bound.element}]"
            raise EngineFault(f"rule {where}, `{conclusion.key}`: {fault}") from fault
    return tuple(concluded)


def _conclude(conclusion: BoundConclusion, facts: CaseFacts) -> list[Concluded]:
    found = evaluate(conclusion.term, facts)
    if conclusion.adds:
        named = found.value if isinstance(found.value, tuple) else (found.value,)
        items = [item for name in named for item in _members(conclusion, name)]
        return [Concluded(item, method=conclusion.method, fact=conclusion.key) for item in items]
    value = _typed(conclusion, found.value)
    low = found.low if conclusion.low is None else number(evaluate(conclusion.low, facts).value)
    high = found.high if conclusion.high is None else number(evaluate(conclusion.high, facts).value)
    if not conclusion.fact.has_range:
        low = high = None
    return [Concluded(value, low, high, conclusion.method, fact=conclusion.key)]


def _members(conclusion: BoundConclusion, name: Value) -> tuple[str, ...]:
    """Return the choices an added item stands for: itself, or the members of a group."""
    item = str(name)
    group = conclusion.fact.groups.get(item)
    if group is not None:
        return group
    if item not in conclusion.choices:
        raise EngineFault(f"`{item}` is neither a choice nor a group of this fact")
    return (item,)


def _typed(conclusion: BoundConclusion, value: Value) -> Value:
    """Return the value if it suits the fact's declared type."""
    kind = conclusion.fact.type
    suits = kind.suits(value)
    if kind is FactType.INTEGER and isinstance(value, float):
        suits = suits and value.is_integer()
    elif kind in {FactType.CHOICE, FactType.CHOICES} and suits:
        items = value if isinstance(value, tuple) else (value,)
        suits = set(items) <= set(conclusion.choices)
    if not suits:
        raise EngineFault(f"{value!r} is not a value of type {kind.value}")
    return number(value) if kind in {FactType.NUMBER, FactType.INTEGER} else value
