"""Clauses and expressions of rules in FEEL, the expression language of DMN.

FEEL's null stands for every way of having no value. Where the book tells these ways apart, a second
input carries the status; where it would have to and cannot, the clause is refused with the reason.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from assistant.knowledge.walk import operand
from assistant.model.clauses import Clause, Condition, alternatives
from assistant.model.expressions import (
    CalculateTerm,
    Compound,
    DifferenceTerm,
    Expression,
    FactTerm,
    LoopTerm,
    ParameterTerm,
    SumTerm,
    parts,
)
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, fact_key

STATUSES = ("known", *(status.value for status in Status))
_SIGNS = {"at_least": ">=", "at_most": "<=", "more_than": ">", "less_than": "<", "equals": "="}
_JOINED: dict[type[Compound], str] = {SumTerm: " + ", DifferenceTerm: " - "}


class Unsayable(Exception):
    """DMN has no words for something; the message says what."""


@dataclass(frozen=True)
class Input:
    """A value that whoever evaluates the table brings. about: where the book has it from.

    fact: its declaration, None for a status or the element a table is evaluated for. values: the
    words it may be, where these are not the declaration's.
    """

    name: str
    about: str
    fact: FactDeclaration | None = None
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class Cell:
    """A condition of one row: the input expression it is about, and the unary test of it."""

    about: str
    test: str
    clauses: tuple[Clause, ...]
    is_brake: bool = False


def feel_name(fact_id: str, index: str | None = None) -> str:
    """Return the FEEL name of a fact; a dot there would ask for a part of a value."""
    name = fact_id.replace(".", "_")
    return name if index is None else f"{name}_of_{index}"


def literal(value: bool | float | str) -> str:
    """Return a value as a FEEL literal."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    whole = float(value).is_integer()
    return str(int(value)) if whole else format(Decimal(repr(float(value))), "f")


@dataclass
class Feel:
    """Words one table's clauses on a day; the inputs they read gather in `inputs`."""

    kb: KnowledgeBase
    on: dt.date
    inputs: dict[str, Input] = field(default_factory=dict)

    def cell(self, condition: Condition, role: str) -> Cell:
        """Return one condition as a cell. Raises Unsayable."""
        clauses = alternatives(condition)
        if role != "when":
            (clause,) = clauses
            return self._brake(clause, role)
        about = [self._subject(clause) for clause in clauses]
        if len(set(about)) == 1:
            return Cell(about[0], ", ".join(map(self._test, clauses)), clauses)
        whole = " or ".join(f"({self._truth(clause)})" for clause in clauses)
        return Cell(whole, "true", clauses)

    def expression(self, expression: Expression) -> str:
        """Return an expression in FEEL. Raises Unsayable where a calculator gives an outcome."""
        if isinstance(expression, bool | float | int | str):
            return literal(expression)
        if isinstance(expression, ParameterTerm):
            return literal(self.kb.parameter_value(expression.param, self.on).value)
        if isinstance(expression, LoopTerm):
            return expression.loop
        if isinstance(expression, FactTerm):
            return self._fact(expression.fact, expression.of, expression.bound)
        if isinstance(expression, CalculateTerm):
            name = expression.calculate
            raise Unsayable(f"the calculator `{name}` works it out, and FEEL has no words for that")
        assert isinstance(expression, Compound)
        sign = _JOINED.get(type(expression), " * ")
        return "(" + sign.join(self.expression(each) for each in expression.inner) + ")"

    def required(self, expression: Expression) -> Iterator[Cell]:
        """Yield the condition that each fact an outcome is made of has a value."""
        for term in parts(expression):
            if isinstance(term, FactTerm):
                clause = Clause(fact=term.fact, of=term.of, status="known")
                yield self.cell(clause, "when")

    def loop(self, variable: str, domain: str) -> None:
        """Add the element a table is evaluated for, once for each of its domain."""
        about = f"one of the domain `{domain}`; evaluate once for each"
        self.inputs[variable] = Input(variable, about, values=self.kb.book.domains[domain])

    def _fact(self, fact_id: str, index: str | None, bound: str | None = None) -> str:
        name = feel_name(fact_id, index) + ("" if bound is None else f"_{bound}")
        declared = self.kb.facts[fact_id]
        where = "" if bound is None else f", {bound} end of its range"
        about = f"{fact_key(fact_id, index)}: {declared.label}{where}"
        self.inputs[name] = Input(name, about, declared)
        return name

    def subject(self, clause: Clause) -> str:
        """Return what a clause is about as an input expression."""
        if clause.count_true is not None:
            names = ", ".join(self._fact(fact, None) for fact in clause.count_true)
            return f"count([{names}][item = true])"
        if clause.count_items is not None:
            return f"count({self._fact(clause.count_items, None)})"
        assert clause.fact is not None  # one of the three
        return self._fact(clause.fact, clause.of)

    def _subject(self, clause: Clause) -> str:
        if clause.fact is None or clause.operator != "status" or clause.operand == "known":
            return self.subject(clause)
        if self.kb.facts[clause.fact].origin == "derived":
            raise Unsayable("a conclusion that nobody drew has no status")
        name = feel_name(clause.fact, clause.of) + "_status"
        about = f"{fact_key(clause.fact, clause.of)}: whether it has a value, and why not"
        self.inputs[name] = Input(name, about, values=STATUSES)
        return name

    def _test(self, clause: Clause) -> str:
        """Return the unary test of a clause that must hold; null passes none but a status."""
        if clause.operator == "status":
            words = {"known": "not(null)", "unanswered": '"unknown", "declined"'}
            return words.get(str(clause.operand), literal(str(clause.operand)))
        if clause.operator == "one_of":
            return ", ".join(map(literal, clause.one_of or ()))
        if clause.operator == "equals":
            return self._operand(clause)
        if clause.operator in _SIGNS:
            return f"{_SIGNS[clause.operator]} {self._operand(clause)}"
        # Without a value FEEL says null, and a test that gives what it tests would pass.
        return f"({self._said_of(clause, '?')}) = true"

    def _truth(self, clause: Clause) -> str:
        """Return a clause as an expression that is true where it holds."""
        return self._said_of(clause, self._subject(clause))

    def _said_of(self, clause: Clause, it: str) -> str:
        if clause.operator == "status" and clause.operand == "known":
            return f"{it} != null"
        if clause.operator in {"status", "one_of"}:
            return " or ".join(f"{it} = {word}" for word in self._test(clause).split(", "))
        if clause.operator == "not_empty":
            return f"count({it}) > 0"
        if clause.operator in _SIGNS:
            return f"{it} {_SIGNS[clause.operator]} {self._operand(clause)}"
        wanted = self._operand(clause)
        return {
            "is_not": f"{it} != null and {it} != {wanted}",
            "has": f"list contains({it}, {wanted})",
            "lacks": f"not(list contains({it}, {wanted}))",
        }[clause.operator]

    def _brake(self, clause: Clause, role: str) -> Cell:
        """Return what must not be known to hold: null, nobody's conclusion or no answer, lets through."""
        compared = operand(clause)
        terms = [term for term in parts(compared) if isinstance(term, FactTerm)] if compared else []
        read = [
            clause.fact,
            clause.count_items,
            *(clause.count_true or ()),
            *(t.fact for t in terms),
        ]
        if role == "unless" and any(self.kb.facts[f].origin != "derived" for f in read if f):
            text = (
                "a brake on an answer blocks while it is unknown, and null says no more than that"
            )
            raise Unsayable(text)
        about = self._subject(clause)
        if clause.operator in {"equals", "one_of"}:
            test = f"not({self._test(clause)})"
        elif clause.operator == "status" and clause.operand == "known":
            test = "null"
        else:
            test = f"({self._said_of(clause, '?')}) != true"
        return Cell(about, test, (clause,), is_brake=True)

    def _operand(self, clause: Clause) -> str:
        """Return what a clause compares with; a calculator's result there is an input of its own."""
        wanted = operand(clause)
        assert wanted is not None  # only these operators come here
        if not isinstance(wanted, CalculateTerm):
            return self.expression(wanted)
        # What the calculator reads is no input of the table.
        given = ", ".join(map(Feel(self.kb, self.on).expression, wanted.given))
        name = f"{feel_name(wanted.calculate)}_for_{feel_name(clause.fact or 'count')}"
        about = f"worked out beforehand: {wanted.calculate} from {given}"
        self.inputs[name] = Input(name, about, self.kb.facts[clause.fact] if clause.fact else None)
        return name
