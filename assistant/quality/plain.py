"""A case worked out level by level without an engine: for trying a book with one number changed.

Compiling a book for an engine takes many times longer than one case. Here only the rules that read
the number are bound anew; conclusions are drawn and combined by the engine room's own functions.
The tests hold this against whole runs of a compiled book.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from assistant.engine import CompiledBook
from assistant.engine.bound import BoundRule
from assistant.engine.combine import Said, combine
from assistant.engine.decide import conclude, decide
from assistant.engine.session import Outcome
from assistant.engine.terms import CaseFacts
from assistant.model.derivation import Reading, Verdict
from assistant.model.values import FactKey, Value


class PlainBook:
    """A compiled book's rules by level; other bindings of the same rules may be put in."""

    def __init__(self, book: CompiledBook) -> None:
        self._book = book
        self._owners: dict[int, list[int]] = {}
        for owner, bound in enumerate(book.rules):
            if bound.in_force:
                self._owners.setdefault(book.rule_level(owner), []).append(owner)

    def outcome(
        self,
        rules: Sequence[BoundRule],
        values: Mapping[FactKey, Value],
        calculators: Mapping[str, Any],
    ) -> Outcome:
        """Return final facts and conclusions.

        rules: the bound rules in the compiled book's order. values: answers with their defaults,
        and context facts. Raises EngineFault where rules contradict each other or a calculator
        refuses its inputs.
        """
        outcome = Outcome(CaseFacts(dict(values), {}, calculators))
        said: dict[FactKey, list[Said]] = {}
        known: dict[int, Reading] = {}
        for level in range(1, self._book.program.levels + 1):
            for owner in self._owners.get(level, ()):
                bound = rules[owner]
                if decide(bound, outcome.facts, known)[0] is Verdict.FIRED:
                    outcome.conclusions[owner] = conclude(bound, outcome.facts)
                    for concluded in outcome.conclusions[owner]:
                        told = Said(bound.rule.id, owner, concluded)
                        said.setdefault(concluded.fact, []).append(told)
            for fact_id in self._book.closing[level]:
                self._close(fact_id, said, outcome)
        return outcome

    def _close(self, fact_id: str, said: Mapping[FactKey, list[Said]], outcome: Outcome) -> None:
        book = self._book
        for key in book.keys_of[fact_id]:
            if key in said:
                order = book.order_of(fact_id)
                one = combine(book.kb.facts[fact_id], key, said[key], order, book.overrides)
                outcome.combined[key] = one
                outcome.facts.values[key] = one.value
                if one.low is not None or one.high is not None:
                    outcome.facts.ranges[key] = (one.low, one.high)
