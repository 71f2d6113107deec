"""A rule for one loop element, with every fact, parameter and domain looked up."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from assistant.engine.terms import FactRef, Term, reads
from assistant.model.facts import FactDeclaration
from assistant.model.rules import Rule
from assistant.model.values import FactKey


@dataclass(frozen=True, slots=True)
class BoundClause:
    """One test. `subjects` is one fact, or all facts that `count_true` counts.

    The brake of withheld outputs has more than one subject, too: it holds if one of its lists has
    the output.

    counting: "" (the fact itself), "true" (how many are yes) or "items" (how many the list has).
    operand: None for `status` and `one_of`, whose options stand in `options`, and for `not_empty`.
    required: the clause only asks that a fact used in a conclusion has a value.
    """

    role: str
    address: str
    operator: str
    subjects: tuple[FactRef, ...]
    counting: str = ""
    operand: Term | None = None
    options: tuple[str, ...] = ()
    required: bool = False
    label: FactKey = field(init=False, compare=False)
    operand_reads: tuple[FactRef, ...] = field(init=False, compare=False)
    against: tuple[FactKey, ...] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        # Worked out once: every case reads them. `label` is the fact key the reading is about;
        # the keys of counted facts are joined by commas.
        read = () if self.operand is None else tuple(reads(self.operand))
        object.__setattr__(self, "operand_reads", read)
        object.__setattr__(self, "against", tuple(ref.key for ref in read))
        object.__setattr__(self, "label", ",".join(ref.key for ref in self.subjects))

    def facts_read(self) -> Iterator[FactRef]:
        """Yield every fact the clause reads."""
        yield from self.subjects
        yield from self.operand_reads


@dataclass(frozen=True, slots=True)
class BoundConclusion:
    """What a fired rule says about one fact."""

    fact: FactDeclaration
    key: FactKey
    term: Term
    adds: bool
    choices: tuple[str, ...] = ()
    low: Term | None = None
    high: Term | None = None
    method: str | None = None

    def facts_read(self) -> Iterator[FactRef]:
        """Yield every fact the conclusion needs."""
        for term in (self.term, self.low, self.high):
            if term is not None:
                yield from reads(term)


@dataclass(frozen=True, slots=True)
class BoundRule:
    """A rule for one loop element.

    when: groups that must all hold; a group holds if one of its clauses does.
    A rule that is not in force has no clauses and no conclusions.
    """

    rule: Rule
    element: str | None
    position: int
    hash: str
    in_force: bool
    when: tuple[tuple[BoundClause, ...], ...] = ()
    unless: tuple[BoundClause, ...] = ()
    excused_by: tuple[BoundClause, ...] = ()
    withheld: tuple[BoundClause, ...] = ()
    conclusions: tuple[BoundConclusion, ...] = ()
    parameters: tuple[str, ...] = ()
    binding: Mapping[str, str] = field(init=False, compare=False)
    sources: tuple[str, ...] = field(init=False, compare=False)
    brakes: tuple[BoundClause, ...] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        variable = self.rule.loop_variable
        bound = {} if variable is None or self.element is None else {variable: self.element}
        object.__setattr__(self, "binding", bound)
        brakes = (*self.unless, *self.excused_by, *self.withheld)
        object.__setattr__(self, "brakes", brakes)
        object.__setattr__(self, "sources", tuple(use.ref for use in self.rule.source))

    def clauses(self) -> Iterator[BoundClause]:
        """Yield every clause, in the order in which readings are reported."""
        for group in self.when:
            yield from group
        yield from self.brakes

    def facts_read(self) -> set[str]:
        """Return the ids of all facts the rule reads."""
        return {ref.fact_id for clause in self.clauses() for ref in clause.facts_read()}

    def facts_written(self) -> set[str]:
        """Return the ids of all facts the rule concludes."""
        return {conclusion.fact.id for conclusion in self.conclusions}
