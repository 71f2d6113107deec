"""Several conclusions about one fact become its one final value, as the fact's declaration says."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from assistant.model.derivation import Concluded, Quantity
from assistant.model.errors import EngineFault
from assistant.model.facts import Combine, FactDeclaration
from assistant.model.values import FactKey, Value

# How a value that was set by hand came about.
BY_HAND = "by_hand"


@dataclass(frozen=True, slots=True)
class Said:
    """One conclusion and who drew it: rule id and the number of the bound rule."""

    rule_id: str
    owner: int
    concluded: Concluded


@dataclass(frozen=True, kw_only=True)
class Combined(Quantity):
    """The final value of a fact, whose conclusions gave it, and who was overridden.

    ruled: what the rules say, where the value was set by hand.
    """

    owners: tuple[int, ...]
    overridden: tuple[int, ...] = ()
    ruled: Value | None = None

    def set_to(self, value: Value) -> "Combined":
        """Return the fact with a value set by hand; the rules' range and owners stay."""
        return replace(self, value=value, method=BY_HAND, ruled=self.value)


def combine(
    fact: FactDeclaration,
    key: FactKey,
    said: Sequence[Said],
    order: Sequence[str],
    overrides: Mapping[str, frozenset[str]],
) -> Combined:
    """Return the final value of a fact from at least one conclusion.

    order: declared order of the choices, for min and max of a choice.
    overrides: for each rule, all rules that give way to it, directly or through others.
    Raises EngineFault naming both rules if a one-valued fact gets two values.
    """
    value: Value
    in_order = sorted(said, key=lambda one: (one.rule_id, one.owner))
    if fact.combine is Combine.COLLECT:
        items: set[str] = set()
        for one in in_order:
            value = one.concluded.value
            items.update(value if isinstance(value, tuple) else (str(value),))
        return Combined(tuple(sorted(items)), owners=_owners(in_order))
    overridden: tuple[int, ...] = ()
    if fact.combine is Combine.ANY:
        value = any(one.concluded.value is True for one in in_order)
    elif fact.combine is Combine.ONE:
        in_order, overridden = _give_way(in_order, overrides)
        value = in_order[0].concluded.value
        other = next((one for one in in_order if one.concluded.value != value), None)
        if other is not None:
            raise EngineFault(
                f"`{key}` has one value, but {in_order[0].rule_id} says {value!r} and "
                f"{other.rule_id} says {other.concluded.value!r}"
            )
    else:
        value = _extreme(fact, [one.concluded.value for one in in_order], order)
    chosen = [one for one in in_order if one.concluded.value == value]
    first = chosen[0].concluded
    return Combined(
        value, first.low, first.high, first.method, owners=_owners(chosen), overridden=overridden
    )


def _give_way(
    said: Sequence[Said], overrides: Mapping[str, frozenset[str]]
) -> tuple[list[Said], tuple[int, ...]]:
    """Drop conclusions that differ from one of a rule that takes precedence."""
    stays: list[Said] = []
    gives_way: list[int] = []
    for one in said:
        stronger = (
            other
            for other in said
            if one.rule_id in overrides.get(other.rule_id, frozenset())
            and other.concluded.value != one.concluded.value
        )
        if any(True for _ in stronger):
            gives_way.append(one.owner)
        else:
            stays.append(one)
    return stays, tuple(gives_way)


def _extreme(fact: FactDeclaration, values: Sequence[Value], order: Sequence[str]) -> Value:
    """Return the smallest or largest value, by declared order where the fact is a choice."""
    pick = min if fact.combine is Combine.MIN else max
    if order:
        return pick(values, key=lambda value: order.index(str(value)))
    return pick(values, key=lambda value: (isinstance(value, str), value))


def _owners(said: Sequence[Said]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(one.owner for one in said))
