"""What rules would conclude if a few answers were others: a fast pass without an engine.

Only the rules that stand between the answers that move and the facts asked about are judged again,
each once for every set of values it reads. A trial proposes; whoever uses it has the whole book run
by an engine before saying anything.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from assistant.engine.bound import BoundRule
from assistant.engine.combine import Said
from assistant.engine.compiled import CompiledBook
from assistant.engine.decide import Judge
from assistant.engine.level_loop import work_through
from assistant.engine.terms import Calculator, CaseFacts
from assistant.model.derivation import Concluded, Run
from assistant.model.errors import EngineFault
from assistant.model.values import FactKey, Value

_Range = tuple[float | None, float | None]
_Seen = tuple[tuple[Value | None, _Range | None], ...]


@dataclass(frozen=True)
class Fork:
    """A rule that moving answers lead to. `reads`: what it reads of them, directly or not."""

    owner: int
    bound: BoundRule
    reads: tuple[FactKey, ...]
    moved_by: frozenset[FactKey]


class Trial:
    """Judges a case again with other values of the moving answers.

    forks: the rules judged again, level by level. moved_by: for every fact they write (and the moving
    answers), which of the moving answers lead to it.
    """

    def __init__(
        self,
        book: CompiledBook,
        run: Run,
        calculators: Mapping[str, Calculator],
        moving: Iterable[FactKey],
        targets: Iterable[FactKey],
    ) -> None:
        self._book = book
        self._calculators = calculators
        self.moved_by: dict[FactKey, frozenset[FactKey]] = {k: frozenset({k}) for k in moving}
        self._targets = frozenset(targets)
        self._by_hand = {k: f.value for k, f in run.facts.items() if f.ruled is not None}
        cone, self._relevant = rules_behind(book, self._targets)
        self.forks = self._levels(cone)
        written = {c.key for level in self.forks for fork in level for c in fork.bound.conclusions}
        self._values = {k: f.value for k, f in run.facts.items() if k not in written}
        self._ranges = {
            k: (f.low, f.high)
            for k, f in run.facts.items()
            if k not in written and (f.low is not None or f.high is not None)
        }
        self._fixed = self._fixed_conclusions(run, written & self._relevant)
        self._closing = [
            [key for key in keys if key in written and key in self._relevant]
            for keys in book.closing
        ]
        self._memory: dict[int, dict[_Seen, tuple[Concluded, ...] | EngineFault]] = {
            fork.owner: {} for level in self.forks for fork in level
        }

    def facts(self, changes: Mapping[FactKey, Value]) -> CaseFacts:
        """Return the facts the forks read and write, with these answers changed.

        Raises EngineFault where an engine's run would raise it too.
        """
        facts = CaseFacts({**self._values, **changes}, dict(self._ranges), self._calculators)
        said = {key: list(fixed) for key, fixed in self._fixed.items()}

        def firing(level: int) -> Iterator[tuple[int, tuple[Concluded, ...]]]:
            for fork in self.forks[level]:
                yield fork.owner, self.conclusions(fork, facts)

        work_through(self._book, facts, firing, said, self._closing, self._by_hand)
        return facts

    def is_target(self, key: FactKey) -> bool:
        """Tell whether a fact is one of those asked about."""
        return key in self._targets

    def conclusions(self, fork: Fork, facts: CaseFacts) -> tuple[Concluded, ...]:
        """Return what one rule concludes; nothing if it does not fire."""
        memory = self._memory[fork.owner]
        values, ranges = facts.values, facts.ranges
        seen = tuple([(values.get(key), ranges.get(key)) for key in fork.reads])
        found = memory.get(seen)
        if found is None:
            try:
                found = Judge(facts).says(fork.bound)
            except EngineFault as fault:
                found = fault
            memory[seen] = found
        if isinstance(found, EngineFault):
            raise found
        return found

    def _levels(self, cone: set[int]) -> tuple[tuple[Fork, ...], ...]:
        """Sort the rules of the cone that moving answers lead to into levels."""
        levels: list[tuple[Fork, ...]] = []
        for owners in self._book.by_level:
            forks = [self._fork(owner) for owner in owners if owner in cone]
            levels.append(tuple(fork for fork in forks if fork.moved_by))
            for fork in levels[-1]:
                for conclusion in fork.bound.conclusions:
                    so_far = self.moved_by.get(conclusion.key, frozenset())
                    self.moved_by[conclusion.key] = so_far | fork.moved_by
        return tuple(levels)

    def _fork(self, owner: int) -> Fork:
        bound = self._book.rules[owner]
        keys = {ref.key for clause in bound.clauses() for ref in clause.facts_read()}
        reads = tuple(sorted(key for key in keys if key in self.moved_by))
        return Fork(owner, bound, reads, frozenset().union(*(self.moved_by[k] for k in reads)))

    def _fixed_conclusions(self, run: Run, written: set[FactKey]) -> dict[FactKey, list[Said]]:
        """Return what the rules that nothing moves say about facts that may move."""
        judged = {fork.owner for level in self.forks for fork in level}
        fixed: dict[FactKey, list[Said]] = {}
        for owner, bound in enumerate(self._book.rules):
            if owner not in judged and any(each.key in written for each in bound.conclusions):
                for one in run.records[owner].conclusions:
                    if one.fact in written:
                        fixed.setdefault(one.fact, []).append(Said(bound.rule.id, owner, one))
        return fixed


def rules_behind(book: CompiledBook, targets: frozenset[FactKey]) -> tuple[set[int], set[FactKey]]:
    """Return the rules that can have a say in the targets, and all facts on the way to them.

    What such a rule concludes beside that way is nobody's business here: rules left out of the cone
    may have a say in it.
    """
    writers: dict[FactKey, list[int]] = {}
    for owner, bound in enumerate(book.rules):
        for conclusion in bound.conclusions:
            writers.setdefault(conclusion.key, []).append(owner)
    cone: set[int] = set()
    queue, seen = list(targets), set(targets)
    while queue:
        for owner in writers.get(queue.pop(), ()):
            if owner in cone:
                continue
            cone.add(owner)
            for clause in book.rules[owner].clauses():
                for ref in clause.facts_read():
                    if ref.key not in seen:
                        seen.add(ref.key)
                        queue.append(ref.key)
    return cone, seen
