"""The derivation of one conclusion as a tree, for drawing: three levels, the rest counted."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.explain.arithmetic import arithmetic
from assistant.explain.gap_words import label_of, value_words
from assistant.explain.numbers import ParameterUse
from assistant.explain.why import Step, records_behind, steps_behind, telling
from assistant.model.derivation import Derivation
from assistant.model.values import FactKey, split_key
from assistant.plan.sentences import Narrator

LEVELS, ALL_LEVELS = 3, 99
Kind = Literal["conclusion", "answer", "record", "assumption", "context", "left_out"]


@dataclass(frozen=True)
class Node:
    """One fact. steps: the rules behind it. below: what it rests on, drawn or not.

    key: the fact's own name, empty where the reader may not hear it. spread: its range in words. sums: how
    its number was worked out. by_hand: who set it by hand and what the rules say; all else is the rules'.
    seen_elsewhere: its branches are drawn at another place, nearer to the root.
    answers_below, conclusions_below: how much lies under a node of the last level drawn.
    """

    label: str
    value: str
    kind: Kind
    steps: tuple[Step, ...] = ()
    below: tuple["Node", ...] = ()
    seen_elsewhere: bool = False
    answers_below: int = 0
    conclusions_below: int = 0
    key: FactKey = ""
    spread: str = ""
    sums: tuple[str, ...] = ()
    by_hand: str = ""

    @property
    def rules(self) -> tuple[str, ...]:
        """Who concluded it, with grades."""
        return tuple(dict.fromkeys(step.named for step in self.steps if step.derivation_id))

    @property
    def numbers(self) -> tuple[str, ...]:
        """The numbers of the book that its rules used."""
        return tuple(use.said for use in self._uses() if not use.house)

    @property
    def own(self) -> tuple[str, ...]:
        """What is said of the numbers that this house set."""
        return tuple(f"{use.said}: {use.house}" for use in self._uses() if use.house)

    def _uses(self) -> Iterable[ParameterUse]:
        return dict.fromkeys(use for step in self.steps for use in step.parameters)


# Draws the trees under facts, so many levels deep.
Draw: TypeAlias = Callable[[Iterable[FactKey], int], Iterator[Node]]


def picture(book: CompiledBook, narrator: Narrator, key: FactKey, levels: int = LEVELS) -> Node:
    """Return the tree under a fact. Facts the reader may not see have neither name nor value."""
    return next(pictures(book, narrator, (key,), levels))


def pictures(
    book: CompiledBook, narrator: Narrator, keys: Iterable[FactKey], levels: int = ALL_LEVELS
) -> Iterator[Node]:
    """Yield the trees under facts, in their order; what an earlier one has drawn is drawn once."""
    tree = _Tree(book, narrator, levels)
    for key in keys:
        tree.survey(key)
        yield tree.node(key, 1)


class _Tree:
    """Walks down from a fact; remembers what has been drawn."""

    def __init__(self, book: CompiledBook, narrator: Narrator, levels: int) -> None:
        self._narrator = narrator
        self._levels = levels
        self._bound = {(bound.rule.id, bound.element): bound for bound in book.rules}
        self._drawn: set[FactKey] = set()
        self._level: dict[FactKey, int] = {}

    def survey(self, root: FactKey) -> None:
        """Note the level nearest to the root at which each fact stands: there it is drawn whole."""
        queue = [(root, 1)]
        while queue:
            key, level = queue.pop(0)
            if key in self._level or level > self._levels or self._narrator.hides(key):
                continue
            self._level[key] = level
            queue.extend((below, level + 1) for below in self._below(key))

    def node(self, key: FactKey, level: int) -> Node:
        """Return the node of a fact; the branches of a fact drawn twice are drawn once."""
        narrator = self._narrator
        if narrator.hides(key):
            return Node("something this page leaves out", "", "left_out")
        fact_id, _ = split_key(key)
        label, kind = label_of(narrator, key), self._kind(fact_id)
        fact = narrator.run.facts.get(key)
        if fact is None:
            return Node(label, "not known", kind, key=key)
        value, below = value_words(narrator, fact_id, fact.value), self._below(key)
        spread = narrator.phrases.range(fact_id, fact.low, fact.high)
        if spread == narrator.phrases.value(fact_id, fact.value):
            spread = ""
        records = map(narrator.run.derivation, fact.derivations)
        sums = tuple(filter(None, (self._sum(record, key) for record in records)))
        steps, by_hand = steps_behind(narrator, key), narrator.by_hand(key)
        node = Node(label, value, kind, steps, key=key, spread=spread, sums=sums, by_hand=by_hand)
        if below and (key in self._drawn or level > self._level[key]):
            return replace(node, seen_elsewhere=True)
        self._drawn.add(key)
        if level < self._levels:
            return replace(node, below=tuple(self.node(each, level + 1) for each in below))
        answers, conclusions = self._counts(below)
        return replace(node, answers_below=answers, conclusions_below=conclusions)

    def _of(self, record: Derivation) -> BoundRule:
        return self._bound[record.rule_id, next(iter(record.binding.values()), None)]

    def _sum(self, record: Derivation, key: FactKey) -> str:
        return arithmetic(self._of(record), record, key, self._narrator)

    def _kind(self, fact_id: str) -> Kind:
        if fact_id in self._narrator.run.assumptions:
            return "assumption"
        origin = self._narrator.kb.facts[fact_id].origin
        return "conclusion" if origin == "derived" else origin

    def _below(self, key: FactKey) -> list[FactKey]:
        """Return the facts that made a fact's rules fire, or kept them silent."""
        found: dict[FactKey, None] = {}
        for record in records_behind(self._narrator, key):
            clauses = tuple(self._of(record).clauses())
            for place, _ in telling(record):
                found.update((ref.key, None) for ref in clauses[place].facts_read())
        return [each for each in found if each != key and each in self._narrator.run.facts]

    def _counts(self, keys: list[FactKey]) -> tuple[int, int]:
        """Return how many answers (or days) and conclusions lie below, each counted once."""
        seen: set[FactKey] = set()
        queue = [key for key in keys if not self._narrator.hides(key)]
        while queue:
            key = queue.pop()
            if key not in seen:
                seen.add(key)
                queue.extend(k for k in self._below(key) if not self._narrator.hides(k))
        conclusions = sum(1 for key in seen if self._kind(split_key(key)[0]) == "conclusion")
        return len(seen) - conclusions, conclusions


def more_words(node: Node) -> str:
    """Return what is not drawn under a node, e.g. `below: 4 answers, 2 conclusions`."""
    if node.seen_elsewhere:
        return "drawn elsewhere"
    counts = ((node.answers_below, "answer"), (node.conclusions_below, "conclusion"))
    parts = [f"{n} {word}{'s' if n != 1 else ''}" for n, word in counts if n]
    return f"below: {', '.join(parts)}" if parts else ""
