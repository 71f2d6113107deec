"""Level by level: rules conclude, then the facts that are complete are combined and closed.

Whoever works out a case says which rules fire at a level, by an engine or without one; what follows
from that is the same for all and stands here.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from assistant.engine.combine import Combined, Said, combine
from assistant.engine.compiled import CompiledBook
from assistant.engine.terms import CaseFacts
from assistant.model.derivation import Concluded
from assistant.model.values import FactKey, Value

# What the rules that fire at a level conclude, with the number of each bound rule.
Firing = Iterable[tuple[int, tuple[Concluded, ...]]]


def work_through(
    book: CompiledBook,
    facts: CaseFacts,
    firing: Callable[[int], Firing],
    said: dict[FactKey, list[Said]] | None = None,
    closing: Sequence[Iterable[FactKey]] | None = None,
    by_hand: Mapping[FactKey, Value] | None = None,
) -> dict[FactKey, Combined]:
    """Add every derived fact to `facts`, and return how each was combined.

    firing: asked once for each level, in order. said: conclusions that were drawn before. closing:
    keys to close at each level; None closes all. by_hand: values that replace what the rules conclude,
    where they conclude anything, so that all that follows reads them. Raises EngineFault if a one-valued fact gets two values.
    """
    said = {} if said is None else said
    closing = book.closing if closing is None else closing
    combined: dict[FactKey, Combined] = {}
    for level in range(1, book.program.levels + 1):
        for owner, conclusions in firing(level):
            rule_id = book.rules[owner].rule.id
            for concluded in conclusions:
                said.setdefault(concluded.fact, []).append(Said(rule_id, owner, concluded))
        for key in closing[level]:
            if key in said:
                ref = book.refs[key]
                fact = book.kb.facts[ref.fact_id]
                one = combine(fact, key, said[key], ref.order, book.overrides)
                if by_hand is not None and key in by_hand:
                    one = one.set_to(by_hand[key])
                combined[key] = one
                facts.values[key] = one.value
                if one.low is not None or one.high is not None:
                    facts.ranges[key] = (one.low, one.high)
    return combined
