"""A case worked out level by level without an engine: for trying a book with one number changed.

Compiling a book for an engine takes many times longer than one case. Here only the rules that read
the number are bound anew; conclusions are drawn and combined by the engine room's own functions.
The tests hold this against whole runs of a compiled book.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from assistant.engine import CompiledBook
from assistant.engine.bound import BoundRule
from assistant.engine.decide import conclude, decide
from assistant.engine.level_loop import work_through
from assistant.engine.session import Outcome
from assistant.engine.terms import CaseFacts
from assistant.model.derivation import Concluded, Reading, Verdict
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
        known: dict[int, Reading] = {}

        def firing(level: int) -> Iterator[tuple[int, tuple[Concluded, ...]]]:
            for owner in self._owners.get(level, ()):
                if decide(rules[owner], outcome.facts, known)[0] is Verdict.FIRED:
                    outcome.conclusions[owner] = conclude(rules[owner], outcome.facts)
                    yield owner, outcome.conclusions[owner]

        outcome.combined = work_through(self._book, outcome.facts, firing)
        return outcome
