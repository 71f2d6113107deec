"""Clauses, conclusions and numbers of a rule in plain words, each with the id it stands for."""

from assistant.model.clauses import AnyOf, Clause, Condition
from assistant.model.expressions import (
    CalculateTerm,
    Expression,
    FactTerm,
    LoopTerm,
    ParameterTerm,
)
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Conclusion

_OPERATORS = {
    "at_least": "is at least",
    "at_most": "is at most",
    "more_than": "is more than",
    "less_than": "is less than",
    "equals": "is",
    "is_not": "is known and not",
    "one_of": "is one of",
    "has": "has",
    "lacks": "is known and lacks",
}
_JOINED = {"sum": " + ", "product": " times ", "difference": " less "}
_STATUS = {
    "known": "is known",
    "unanswered": "has no answer",
    "unknown": "is unknown",
    "declined": "was declined",
    "not_applicable": "does not apply",
    "none": "is none",
}


class Words:
    """Words for one knowledge base; its wording.yaml names units and ids."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._kb = kb
        self._labels = kb.wording.labels

    def condition(self, condition: Condition) -> str:
        """One `when` condition; alternatives are joined by "or"."""
        if isinstance(condition, AnyOf):
            return ", or ".join(self.clause(each) for each in condition.any_of)
        return self.clause(condition)

    def clause(self, clause: Clause) -> str:
        """One clause as half a sentence."""
        if clause.count_true is not None:
            names = ", ".join(self.fact(fact) for fact in clause.count_true)
            subject = f"the number of yes among ({names})"
        elif clause.count_items is not None:
            subject = f"the number of items in {self.fact(clause.count_items)}"
        else:
            subject = self.fact(clause.fact or "", clause.of)
        operator = clause.operator
        if operator == "status":
            return f"{subject} {_STATUS[str(clause.status)]}"
        if operator == "not_empty":
            return f"{subject} is not empty"
        if operator == "one_of":
            return f"{subject} is one of {', '.join(self.id(each, clause.fact or '') for each in clause.one_of or ())}"
        value = clause.operand
        assert not isinstance(value, tuple)  # one_of was dealt with
        return f"{subject} {_OPERATORS[operator]} {self.expression(value, clause.fact or '')}"

    def conclusion(self, conclusion: Conclusion) -> str:
        """One conclusion as a line."""
        of = conclusion.of
        if conclusion.add is not None and conclusion.item is not None:
            return f"{self.fact(conclusion.add, of)} gains {self.expression(conclusion.item, conclusion.fact)}"
        assert conclusion.to is not None  # the model saw to it
        text = f"{self.fact(conclusion.fact, of)} becomes {self.expression(conclusion.to, conclusion.fact)}"
        ends = [
            f"{word} {self.expression(end)}"
            for word, end in (("from", conclusion.low), ("to", conclusion.high))
            if end is not None
        ]
        return text + (f" ({' '.join(ends)})" if ends else "")

    def expression(  # noqa: PLR0911 - one return for each kind
        self, expression: Expression, fact_id: str = ""
    ) -> str:
        """A compared or concluded value; fact_id: the fact whose choice a text may be."""
        if isinstance(expression, bool):
            return "yes" if expression else "no"
        if isinstance(expression, int | float):
            return f"{expression:g}"
        if isinstance(expression, str):
            return self.id(expression, fact_id)
        if isinstance(expression, ParameterTerm):
            return self.parameter(expression.param)
        if isinstance(expression, FactTerm):
            end = {"low": "the low end of ", "high": "the high end of "}.get(expression.bound or "")
            return f"{end or ''}{self.fact(expression.fact, expression.of)}"
        if isinstance(expression, LoopTerm):
            return f"this {expression.loop}"
        inner = [self.expression(each) for each in expression.inner]
        if isinstance(expression, CalculateTerm):
            end = f"the {expression.take} end of " if expression.take else ""
            return f"{end}{expression.calculate}({', '.join(inner)})"
        return _JOINED[expression.holds].join(inner)

    def fact(self, fact_id: str, of: str | None = None) -> str:
        """A fact's label with its id."""
        declaration = self._kb.facts.get(fact_id)
        label = declaration.label if declaration is not None else fact_id
        return f"{label} [{fact_id}{f' of {of}' if of else ''}]"

    def parameter(self, name: str) -> str:
        """A number's latest value with unit and id."""
        parameter = self._kb.parameters[name]
        value = self._kb.overlay.get(name, parameter.values[-1].value)
        return f"{value:g}{self.unit(parameter.unit, value)} [{name}]"

    def unit(self, unit: str, count: float = 0) -> str:
        """A unit as it stands after a number, with a space before it; empty for plain numbers."""
        words = self._kb.wording.unit_words(unit, count)
        return f" {words}" if words else ""

    def id(self, word: str, fact_id: str = "") -> str:
        """A choice in words; words for one fact's choice stand under `fact.choice`."""
        label = self._labels.get(f"{fact_id}.{word}", self._labels.get(word))
        return word.replace("_", " ") if label is None else label
