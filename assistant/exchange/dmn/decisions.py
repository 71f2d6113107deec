"""A table's rows as decisions: one for each fact, or for facts that the same exclusive rows set."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import TypeAlias

from assistant.exchange.dmn.feel import Cell, Feel, Input, Unsayable, feel_name
from assistant.exchange.dmn.overlap import overlapping
from assistant.knowledge.walk import conclusion_expressions
from assistant.model.clauses import Clause
from assistant.model.facts import Combine, FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Conclusion, Rule
from assistant.model.values import fact_key

# A concluded fact and its index; a column: what is tested, and for the how many-th time in a row.
Key: TypeAlias = tuple[str, str | None]
Column: TypeAlias = tuple[str, int]

_SCREEN_STAGE = "screen"
# While one of these holds an output, no later stage concludes a fact that reveals it.
_LEFT_OUT = ("screen.withheld", "plan.left_out")
_TAKES = {"min": "the smallest", "max": "the largest", "collect": "each once", "any": "yes if any"}


@dataclass(frozen=True)
class Output:
    """One output column. values: the words it may be, the ones that go before others first."""

    name: str
    fact: FactDeclaration
    values: tuple[str, ...]


@dataclass(frozen=True)
class Row:
    """One rule of a decision table, from one rule of the book."""

    rule: Rule
    cells: Mapping[Column, Cell]
    outcomes: tuple[str, ...]


@dataclass(frozen=True)
class Decision:
    """One decision table in the words of DMN. whole: no rule outside the table concludes its fact."""

    name: str
    title: str
    policy: str
    outputs: tuple[Output, ...]
    rows: tuple[Row, ...]
    inputs: Mapping[str, Input]
    whole: bool
    notes: tuple[str, ...]

    @property
    def columns(self) -> list[Column]:
        """What the rows test, in the order in which they come to it."""
        return list(dict.fromkeys(column for row in self.rows for column in row.cells))


def tables_of(kb: KnowledgeBase) -> Mapping[str, tuple[Rule, ...]]:
    """Return the rules of each decision table of the book, in the order of its rows, by table id."""
    found: dict[str, list[Rule]] = {}
    for rule in sorted(kb.rules.values(), key=lambda rule: kb.places[rule.id].line):
        path = PurePath(kb.places[rule.id].file)
        if path.parent.name == "tables":
            found.setdefault(path.stem, []).append(rule)
    return {table: tuple(rules) for table, rules in sorted(found.items())}


def decisions_of(
    kb: KnowledgeBase, table: str, on: dt.date
) -> tuple[tuple[Decision, ...], tuple[str, ...]]:
    """Return a table's decisions as the book stands on a day, and a line for what DMN cannot say."""
    rules = [rule for rule in tables_of(kb)[table] if rule.in_force(on)]
    setting: dict[Key, list[Rule]] = {}
    for rule in rules:
        for key in dict.fromkeys((done.fact, done.of) for done in rule.then):
            setting.setdefault(key, []).append(rule)
    groups: dict[tuple[str, ...], list[Key]] = {}
    for key, its in setting.items():
        groups.setdefault(tuple(rule.id for rule in its), []).append(key)
    made: list[Decision] = []
    left_out: list[str] = []
    for keys in groups.values():
        maker = _Maker(kb, table, setting[keys[0]], on)
        for some in maker.tried(keys):
            try:
                made.append(maker.decision(some))
            except Unsayable as why:
                left_out.append(f"{table}, {', '.join(fact_key(*key) for key in some)}: {why}")
    return tuple(made), tuple(left_out)


class _Maker:
    """Makes decisions on facts that the same rules of a table set."""

    def __init__(self, kb: KnowledgeBase, table: str, rules: Sequence[Rule], on: dt.date) -> None:
        self.kb, self.table, self.rules, self.on = kb, table, rules, on

    def tried(self, keys: list[Key]) -> list[list[Key]]:
        """Return the facts that one decision can hold: all where no two rows meet, else each alone."""
        lists = [key for key in keys if self.kb.facts[key[0]].combine is Combine.COLLECT]
        single = [key for key in keys if key not in lists]
        try:
            together = len(single) > 1 and self.decision(single).policy == "UNIQUE"
        except Unsayable:
            together = False
        return [*([single] if together else [[key] for key in single]), *([key] for key in lists)]

    def decision(self, keys: list[Key]) -> Decision:
        """Return one decision. Raises Unsayable."""
        feel = Feel(self.kb, self.on)
        fact = self.kb.facts[keys[0][0]]
        outputs = tuple(output for key in keys for output in self._outputs(*key))
        rows = [row for rule in self.rules for row in _rows(feel, rule, keys)]
        policy = _policy(feel, fact, rows, len(outputs))
        whole = not any(self._others(key) for key in keys)
        name = feel_name(*keys[0])
        if not whole or len(outputs) > 1:
            name = f"{self.table}_{name}"
        title = self.rules[0].title.partition(":")[0]
        notes = tuple(self._notes(keys, policy))
        return Decision(name, title, policy, outputs, tuple(rows), feel.inputs, whole, notes)

    def _others(self, key: Key) -> int:
        """Return how many rules outside the table may conclude the same."""
        mine = {rule.id for rule in self.rules}
        rules = (self.kb.rules[name] for name in self.kb.writers[key[0]] if name not in mine)
        # What a rule says of each element in turn may be about this one.
        return sum(
            any(c.fact == key[0] and c.of in {key[1], rule.loop_variable} for c in rule.then)
            for rule in rules
        )

    def _outputs(self, fact_id: str, index: str | None) -> Iterator[Output]:
        fact = self.kb.facts[fact_id]
        values = tuple(map(str, self.kb.book.choices_of(fact)))
        # The order in which choices stand is from the least to the most.
        ordered = values[::-1] if fact.combine is Combine.MAX else values
        name = feel_name(fact_id, index)
        yield Output(name, fact, ordered)
        if any(
            done.fact == fact_id and _has_ends(done, fact) for r in self.rules for done in r.then
        ):
            yield from (Output(f"{name}_{end}", fact, ()) for end in ("low", "high"))

    def _notes(self, keys: list[Key], policy: str) -> Iterator[str]:
        for rule in self.rules[:1]:
            for variable, domain in (rule.for_each or {}).items():
                yield f"Evaluate once for each {variable} of the domain {domain}."
        for key in keys:
            if others := self._others(key):
                combine = self.kb.facts[key[0]].combine.value
                takes = _TAKES.get(combine, "the one whose conditions hold")
                yield f"Rules outside the table conclude {fact_key(*key)}, too ({others}); the book takes {takes}."
        if policy == "COLLECT":
            yield "Each item counts once; where no row holds the list is empty."


def _has_ends(done: Conclusion, fact: FactDeclaration) -> bool:
    return fact.has_range and (done.low is not None or done.high is not None)


def _rows(feel: Feel, rule: Rule, keys: Iterable[Key]) -> Iterator[Row]:
    """Yield a rule as a row, or as a row for each item it adds to a list."""
    cells = _placed(_cells(feel, rule))
    outcomes: list[str] = []
    for fact_id, index in keys:
        fact = feel.kb.facts[fact_id]
        for done in rule.then:
            if (done.fact, done.of) != (fact_id, index):
                continue
            if done.add is not None:
                assert done.item is not None  # `add` needs one
                items = fact.groups.get(str(done.item), (done.item,))
                yield from (Row(rule, cells, (feel.expression(item),)) for item in items)
                continue
            assert done.to is not None  # `set` needs one
            outcomes.append(feel.expression(done.to))
            if _has_ends(done, fact):
                ends = (done.low, done.high)
                outcomes += ["null" if end is None else feel.expression(end) for end in ends]
    if outcomes:
        yield Row(rule, cells, tuple(outcomes))


def _cells(feel: Feel, rule: Rule) -> Iterator[Cell]:
    """Yield every condition of a rule: its own, what its outcomes need, and what is withheld."""
    for variable, domain in (rule.for_each or {}).items():
        if domain not in feel.kb.book.domains:
            raise Unsayable(
                f"rule {rule.id} runs for each item of {domain}, a list of the person's"
            )
        feel.loop(variable, domain)
    for role in ("when", "unless", "excused_by"):
        for condition in getattr(rule, role):
            yield feel.cell(condition, role)
    for done in rule.then:
        for _, expression in conclusion_expressions(done):
            yield from feel.required(expression)
        if rule.stage != _SCREEN_STAGE:
            yield from _shown(feel, feel.kb.facts[done.fact])


def _shown(feel: Feel, fact: FactDeclaration) -> Iterator[Cell]:
    """Yield that nothing is withheld which a fact reveals."""
    for output in fact.reveals:
        yield from (feel.cell(Clause(fact=name, has=output), "unless") for name in _LEFT_OUT)


def _placed(cells: Iterable[Cell]) -> dict[Column, Cell]:
    """Return cells by column: the second test of the same thing stands in a column of its own."""
    placed: dict[Column, Cell] = {}
    for cell in cells:
        if cell not in placed.values():
            placed[cell.about, sum(about == cell.about for about, _ in placed)] = cell
    return placed


def _policy(feel: Feel, fact: FactDeclaration, rows: Sequence[Row], outputs: int) -> str:
    """Return the hit policy: what the book does where two rows hold at once. Raises Unsayable."""
    if fact.combine is Combine.COLLECT:
        return "COLLECT"
    meeting = overlapping([row.cells.values() for row in rows], feel)
    if not meeting:
        return "UNIQUE"
    differing = [(rows[a], rows[b]) for a, b in meeting if rows[a].outcomes != rows[b].outcomes]
    if not differing:
        return "ANY"
    is_ranked = fact.combine in {Combine.MIN, Combine.MAX} and fact.type is FactType.CHOICE
    if is_ranked and outputs == 1:
        return "PRIORITY"
    pair = " and ".join(row.rule.id for row in differing[0])
    raise Unsayable(
        f"{pair} may hold at once; a table in which one of them gives way is not written"
    )
