"""From a rule of the knowledge base to a `BoundRule`: look up facts, parameters, domains."""

import datetime as dt
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.engine.bound import BoundClause, BoundConclusion, BoundRule
from assistant.engine.lookup import SCREEN_STAGE, WITHHELD_FACTS, problem, reference
from assistant.engine.terms import (
    Arithmetic,
    Calculation,
    CaseFacts,
    FactRef,
    Literal,
    Read,
    Term,
    evaluate,
)
from assistant.model.clauses import AnyOf, Clause, Condition
from assistant.model.expressions import (
    CalculateTerm,
    DifferenceTerm,
    Expression,
    FactTerm,
    LoopTerm,
    ParameterTerm,
    ProductTerm,
    SumTerm,
)
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Conclusion, Rule
from assistant.model.values import fact_key

COUNT_OPERATORS = ("at_least", "more_than")
_NO_FACTS = CaseFacts({}, {}, {})


@dataclass
class Binder:
    """Binds one rule for one element; `own` gives parameter values to use instead.

    pool: clauses of other rules; an equal one is taken from there, so that each is read once a case.
    """

    rule: Rule
    element: str | None
    kb: KnowledgeBase
    on: dt.date
    own: Mapping[str, float] = field(default_factory=dict)
    dropped: Container[str] = ()
    pool: dict[BoundClause, BoundClause] | None = None
    used: dict[str, None] = field(default_factory=dict)

    def bind(self, position: int, rule_hash: str) -> BoundRule:
        """Return the bound rule.

        Raises InputProblems for an unknown fact, index, or a parameter not in force.
        """
        rule = self.rule
        if not rule.in_force(self.on):
            return BoundRule(rule, self.element, position, rule_hash, in_force=False)
        when = [*self._loop_group(), *self._groups()]
        conclusions = tuple(self._conclusion(conclusion) for conclusion in rule.then)
        when.extend(self._required(conclusions))
        return BoundRule(
            rule=rule,
            element=self.element,
            position=position,
            hash=rule_hash,
            in_force=True,
            when=tuple(when),
            unless=tuple(self._brakes("unless", rule.unless)),
            excused_by=tuple(self._brakes("excused_by", rule.excused_by)),
            withheld=tuple(self._withheld()),
            conclusions=conclusions,
            parameters=tuple(sorted(self.used)),
        )

    # Clauses.

    def _loop_group(self) -> Iterator[tuple[BoundClause, ...]]:
        """A loop over a list fact runs for the elements that the list holds."""
        for source in (self.rule.for_each or {}).values():
            if source not in self.kb.book.domains:
                assert self.element is not None  # `elements` expanded the loop
                ref = self.ref(source, None)
                operand = Literal(self.element)
                yield (self._made("when", "for_each.0", "has", (ref,), operand=operand),)

    def _groups(self) -> Iterator[tuple[BoundClause, ...]]:
        for number, condition in enumerate(self.rule.when):
            group = tuple(self._group(f"when.{number}", condition))
            if group:
                yield group

    def _group(self, address: str, condition: Condition) -> Iterator[BoundClause]:
        if isinstance(condition, AnyOf):
            if not condition.any_of:
                text = f"`{address}` has an empty `any_of`, which can never hold"
                raise problem(self.kb, self.rule.id, "empty-any-of", text)
            if address in self.dropped:
                return
            for number, clause in enumerate(condition.any_of):
                part = f"{address}.any_of.{number}"
                if part not in self.dropped:
                    yield self._clause("when", part, clause)
        elif address not in self.dropped:
            yield self._clause("when", address, condition)

    def _brakes(self, role: str, clauses: tuple[Clause, ...]) -> Iterator[BoundClause]:
        for number, clause in enumerate(clauses):
            address = f"{role}.{number}"
            if address not in self.dropped:
                yield self._clause(role, address, clause)

    def _clause(self, role: str, address: str, clause: Clause) -> BoundClause:
        counting = ""
        if clause.count_true is not None:
            counting = "true"
            self._check_count(address, clause)
            subjects = tuple(self.ref(fact_id, None) for fact_id in clause.count_true)
        elif clause.count_items is not None:
            counting = "items"
            subjects = (self.ref(clause.count_items, clause.of),)
        else:
            assert clause.fact is not None  # the model allows exactly one subject
            subjects = (self.ref(clause.fact, clause.of),)
        operator = clause.operator
        if operator == "not_empty":
            return self._made(role, address, operator, subjects, "items")
        if operator == "one_of":
            options = tuple(clause.one_of or ())
            return self._made(role, address, operator, subjects, options=options)
        if operator == "status":
            return self._made(role, address, operator, subjects, options=(str(clause.status),))
        operand = self.term(getattr(clause, operator))
        return self._made(role, address, operator, subjects, counting, operand)

    def _made(self, *args: Any, **more: Any) -> BoundClause:
        clause = BoundClause(*args, **more)
        return clause if self.pool is None else self.pool.setdefault(clause, clause)

    def _check_count(self, address: str, clause: Clause) -> None:
        """Another yes may only ever make a count hold: then open questions can be left open."""
        if clause.operator not in COUNT_OPERATORS:
            text = (
                f"`{address}` counts with `{clause.operator}`; use {' or '.join(COUNT_OPERATORS)}"
            )
            raise problem(self.kb, self.rule.id, "bad-count", text)

    def _required(self, conclusions: tuple[BoundConclusion, ...]) -> Iterator[tuple[BoundClause]]:
        """Every fact a conclusion is made of must have a value: a reading of its own."""
        seen: set[str] = set()
        for number, conclusion in enumerate(conclusions):
            for ref in conclusion.facts_read():
                if ref.key not in seen:
                    seen.add(ref.key)
                    asks = {"options": ("known",), "required": True}
                    yield (self._made("when", f"then.{number}", "status", (ref,), **asks),)

    def _withheld(self) -> Iterator[BoundClause]:
        """While an output is withheld, no later stage may conclude a fact that reveals it."""
        if self.rule.stage == SCREEN_STAGE:
            return
        lists = tuple(self.ref(name, None) for name in WITHHELD_FACTS if name in self.kb.facts)
        outputs: dict[str, None] = {}
        for conclusion in self.rule.then:
            outputs.update(dict.fromkeys(self.declaration(conclusion.fact).reveals))
        for number, output in enumerate(outputs):
            address = f"withheld.{number}"
            if address not in self.dropped:
                yield self._made("withheld", address, "has", lists, operand=Literal(output))

    # Conclusions.

    def _conclusion(self, conclusion: Conclusion) -> BoundConclusion:
        fact = self.declaration(conclusion.fact)
        expression = conclusion.to if conclusion.set is not None else conclusion.item
        assert expression is not None  # the model saw to it
        return BoundConclusion(
            fact=fact,
            key=fact_key(fact.id, self.index(fact, conclusion.of)),
            term=self.term(expression),
            adds=conclusion.add is not None,
            choices=self.kb.book.choices_of(fact),
            low=None if conclusion.low is None else self.term(conclusion.low),
            high=None if conclusion.high is None else self.term(conclusion.high),
            method=conclusion.method,
        )

    # Facts and expressions.

    def declaration(self, fact_id: str) -> FactDeclaration:
        """Return the declaration of a fact."""
        fact = self.kb.facts.get(fact_id)
        if fact is None:
            raise problem(self.kb, self.rule.id, "unknown-fact", f"`{fact_id}` is not declared")
        return fact

    def index(self, fact: FactDeclaration, of: str | None) -> str | None:
        """Return the index meant by `of`: the loop element or a literal id."""
        if fact.index is None:
            if of is not None:
                text = f"`{fact.id}` has no index; remove `of: {of}`"
                raise problem(self.kb, self.rule.id, "no-index", text)
            return None
        if of is None:
            text = f"`{fact.id}` has one value for each {fact.index}; say which with `of`"
            raise problem(self.kb, self.rule.id, "index-missing", text)
        index = self.element if of == self.rule.loop_variable else of
        if index is None or index not in self.kb.book.domains.get(fact.index, ()):
            text = f"`{index}` is not in domain `{fact.index}` of `{fact.id}`"
            raise problem(self.kb, self.rule.id, "unknown-index", text)
        return index

    def ref(self, fact_id: str, of: str | None) -> FactRef:
        """Return how this rule refers to a fact."""
        fact = self.declaration(fact_id)
        return reference(fact, self.index(fact, of), self.kb)

    def term(self, expression: Expression) -> Term:
        """Return an expression with its parameters and loop elements filled in."""
        if isinstance(expression, bool | str):
            return Literal(expression)
        if isinstance(expression, int | float):
            return Literal(float(expression))
        if isinstance(expression, ParameterTerm):
            return Literal(self._parameter(expression.param))
        if isinstance(expression, LoopTerm):
            return Literal(self._loop(expression))
        if isinstance(expression, FactTerm):
            return Read(self.ref(expression.fact, expression.of), expression.bound)
        return self._compound(expression)

    def _loop(self, expression: LoopTerm) -> str:
        if self.element is None or expression.loop != self.rule.loop_variable:
            text = f"`loop: {expression.loop}` is not this rule's loop variable"
            raise problem(self.kb, self.rule.id, "unknown-loop", text)
        return self.element

    def _compound(self, expression: SumTerm | DifferenceTerm | ProductTerm | CalculateTerm) -> Term:
        """Return arithmetic or a calculation; arithmetic on fixed values is worked out here."""
        inner = tuple(self.term(part) for part in expression.inner)
        if isinstance(expression, CalculateTerm):
            return Calculation(expression.calculate, inner, expression.take)
        term = Arithmetic(expression.holds, inner)
        if not all(isinstance(part, Literal) for part in term.parts):
            return term
        folded = evaluate(term, _NO_FACTS).value
        assert isinstance(folded, float)  # arithmetic on fixed values
        return Literal(folded)

    def _parameter(self, name: str) -> float:
        parameter = self.kb.parameters.get(name)
        if parameter is None:
            raise problem(self.kb, self.rule.id, "unknown-parameter", f"`{name}` is not declared")
        dated = parameter.in_force(self.on)
        if dated is None:
            text = f"parameter `{name}` has no value in force on {self.on.isoformat()}"
            raise problem(self.kb, self.rule.id, "not-in-force", text)
        self.used[f"{name}@{dated.since.isoformat()}"] = None
        if name in self.own:
            return float(self.own[name])
        return float(self.kb.overlay.get(name, dated.value))
