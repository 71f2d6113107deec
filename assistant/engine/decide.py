"""The verdict on one rule for one element, and what it concludes if it fires."""

from assistant.engine.bound import BoundClause, BoundConclusion, BoundRule
from assistant.engine.readings import read_clause
from assistant.engine.terms import CaseFacts, evaluate, number
from assistant.model.derivation import Concluded, Holds, Reading, Verdict
from assistant.model.errors import EngineFault
from assistant.model.facts import FactType
from assistant.model.values import Value


def decide(
    bound: BoundRule, facts: CaseFacts, known: dict[int, Reading] | None = None
) -> tuple[Verdict, tuple[Reading, ...]]:
    """Return the verdict and the readings of all clauses.

    A failed condition outweighs a brake, and a brake outweighs an open question.
    known: readings of clauses (by identity) over these facts so far; new ones are added.
    """
    if not bound.in_force:
        return Verdict.NOT_IN_FORCE, ()
    if known is None:
        known = {}
    readings: list[Reading] = []
    conditions = _conditions(bound, facts, known, readings)
    brakes = _brakes(bound, facts, known, readings)
    if conditions is Holds.FALSE:
        verdict = Verdict.FAILED_AT
    elif brakes is Holds.TRUE:
        verdict = Verdict.BLOCKED_BY
    elif conditions is Holds.UNKNOWN or brakes is Holds.UNKNOWN:
        verdict = Verdict.NEEDS
    else:
        verdict = Verdict.FIRED
    return verdict, tuple(readings)


def _conditions(
    bound: BoundRule, facts: CaseFacts, known: dict[int, Reading], readings: list[Reading]
) -> Holds:
    """Return whether all groups hold, adding every clause's reading."""
    all_hold = Holds.TRUE
    for group in bound.when:
        held = Holds.FALSE
        for clause in group:
            reading = known.get(id(clause)) or _read(clause, facts, known)
            readings.append(reading)
            if held is not Holds.TRUE and reading.holds is not Holds.FALSE:
                held = reading.holds
        if all_hold is not Holds.FALSE and held is not Holds.TRUE:
            all_hold = held
    return all_hold


def _brakes(
    bound: BoundRule, facts: CaseFacts, known: dict[int, Reading], readings: list[Reading]
) -> Holds:
    """Return whether anything stands in the way, adding every clause's reading."""
    in_the_way = Holds.FALSE
    for clause in bound.brakes:
        reading = known.get(id(clause)) or _read(clause, facts, known)
        readings.append(reading)
        if reading.holds is Holds.TRUE:
            in_the_way = Holds.TRUE
        # Only a known excuse excuses, so an open one does not hold a rule back.
        elif (
            reading.holds is Holds.UNKNOWN
            and clause.role != "excused_by"
            and in_the_way is Holds.FALSE
        ):
            in_the_way = Holds.UNKNOWN
    return in_the_way


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
        return [Concluded(conclusion.key, item, method=conclusion.method) for item in items]
    value = _typed(conclusion, found.value)
    low = found.low if conclusion.low is None else number(evaluate(conclusion.low, facts).value)
    high = found.high if conclusion.high is None else number(evaluate(conclusion.high, facts).value)
    if not conclusion.fact.has_range:
        low = high = None
    return [Concluded(conclusion.key, value, low, high, conclusion.method)]


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


def _read(clause: BoundClause, facts: CaseFacts, known: dict[int, Reading]) -> Reading:
    reading = read_clause(clause, facts)
    known[id(clause)] = reading
    return reading
