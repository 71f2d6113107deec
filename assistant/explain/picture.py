"""The derivation of one conclusion as a tree, for drawing: three levels, the rest counted."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.explain.arithmetic import arithmetic
from assistant.explain.gap_words import label_of, may_name, value_words
from assistant.explain.numbers import ParameterUse, parameter_use
from assistant.model.derivation import Derivation, Holds
from assistant.model.values import FactKey, fact_key, split_key
from assistant.plan.sentences import Narrator

LEVELS, ALL_LEVELS = 3, 99
Kind = Literal["conclusion", "answer", "assumption", "context", "left_out"]


@dataclass(frozen=True)
class Node:
    """One fact. rules: who concluded it, with grades. numbers: parameters these used. below: what it rests on, drawn or not.

    key: the fact's own name, empty where the reader may not hear it. sums: how its number was worked out.
    own: what is said of the numbers that this house set.
    seen_elsewhere: its branches are drawn at another place, nearer to the root.
    answers_below, conclusions_below: how much lies under a node of the last level drawn.
    """

    label: str
    value: str
    kind: Kind
    rules: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    below: tuple["Node", ...] = ()
    seen_elsewhere: bool = False
    answers_below: int = 0
    conclusions_below: int = 0
    key: FactKey = ""
    sums: tuple[str, ...] = ()
    own: tuple[str, ...] = ()


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
        self._bound: dict[str, BoundRule] = {
            record.id: bound
            for bound, record in zip(book.rules, narrator.run.records, strict=True)
            if record.id
        }
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
        fact = narrator.run.facts[key]
        label, value = label_of(narrator, key), value_words(narrator, fact_id, fact.value)
        spread = narrator.phrases.range(fact_id, fact.low, fact.high)
        if spread and spread != narrator.phrases.value(fact_id, fact.value):
            value += f" (range {spread})"
        kind = self._kind(fact_id)
        rules = tuple(dict.fromkeys(self._rule(name) for name in fact.derivations))
        uses = list(dict.fromkeys(u for name in fact.derivations for u in self._numbers(name)))
        numbers = tuple(u.said for u in uses if not u.house)
        own = tuple(f"{u.said}: {u.house}" for u in uses if u.house)
        below = self._below(key)
        sums = tuple(filter(None, (self._sum(name, key) for name in fact.derivations)))
        node = Node(label, value, kind, rules, numbers, key=key, sums=sums, own=own)
        if below and (key in self._drawn or level > self._level[key]):
            return replace(node, seen_elsewhere=True)
        self._drawn.add(key)
        if level < self._levels:
            return replace(node, below=tuple(self.node(each, level + 1) for each in below))
        answers, conclusions = self._counts(below)
        return replace(node, answers_below=answers, conclusions_below=conclusions)

    def _sum(self, derivation_id: str, key: FactKey) -> str:
        record = self._narrator.run.derivation(derivation_id)
        return arithmetic(self._bound[derivation_id], record, key, self._narrator)

    def _kind(self, fact_id: str) -> Kind:
        if fact_id in self._narrator.run.assumptions:
            return "assumption"
        origin = self._narrator.kb.facts[fact_id].origin
        kinds: dict[str, Kind] = {"answer": "answer", "context": "context"}
        return kinds.get(origin, "conclusion")

    def _rule(self, derivation_id: str) -> str:
        record = self._narrator.run.derivation(derivation_id)
        if not may_name(self._narrator, record.rule_id):
            return "of the screening questions"
        element = next(iter(record.binding.values()), None)
        return f"{fact_key(record.rule_id, element)}, {record.grade}"

    def _numbers(self, derivation_id: str) -> Iterator[ParameterUse]:
        """Yield the numbers of the rule book that a rule used."""
        narrator, record = self._narrator, self._narrator.run.derivation(derivation_id)
        if not may_name(narrator, record.rule_id):
            return
        yield from (parameter_use(narrator, used) for used in record.parameters)

    def _below(self, key: FactKey) -> list[FactKey]:
        """Return the facts that made a fact's rules fire and that its value is made of."""
        fact = self._narrator.run.facts[key]
        found: dict[FactKey, None] = {}
        for name in fact.derivations:
            record = self._narrator.run.derivation(name)
            found.update(dict.fromkeys(self._read(self._bound[name], record)))
        return [each for each in found if each != key]

    def _read(self, bound: BoundRule, record: Derivation) -> Iterator[FactKey]:
        for clause, reading in zip(bound.clauses(), record.readings, strict=True):
            if clause.role == "when" and reading.holds is Holds.TRUE:
                keys = (ref.key for ref in clause.facts_read())
                yield from (key for key in keys if key in self._narrator.run.facts)

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
