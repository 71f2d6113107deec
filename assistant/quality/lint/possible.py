"""What a clause can come to, from declared ranges, choices, and what rules can conclude."""

from collections.abc import Iterable
from enum import Enum, auto

from assistant.knowledge.walk import operand
from assistant.model.clauses import ORDER_OPERATORS, Clause
from assistant.model.expressions import (
    ARITHMETIC,
    CalculateTerm,
    Compound,
    Expression,
    ParameterTerm,
)
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase

_UNASKED = {"declined", "unanswered", "unknown"}


class Always(Enum):
    """A clause that is the same for everyone."""

    TRUE = auto()
    FALSE = auto()


Outcome = tuple[Always, str]


class Possible:
    """Judges single clauses; what it cannot be certain of it passes over."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._kb = kb
        self._concluded = _concluded(kb)

    def outcome(  # noqa: PLR0911 - one return for each type of fact
        self, clause: Clause
    ) -> Outcome | None:
        """Return what a clause always comes to, with the reason; None if that depends."""
        if clause.count_true is not None:
            return self._count(clause, 0, len(clause.count_true))
        if clause.count_items is not None:
            fact = self._kb.facts[clause.count_items]
            return self._count(clause, 0, len(self._kb.book.choices_of(fact)))
        fact = self._kb.facts[clause.fact or ""]
        if clause.operator == "status":
            return _status(clause, fact)
        if fact.type in {FactType.NUMBER, FactType.INTEGER} and fact.range is not None:
            return self._number(clause, *fact.range, f"`{fact.id}` goes from")
        if fact.type is FactType.CHOICE:
            return self._choice(clause, fact)
        if fact.type is FactType.CHOICES and clause.operator == "has":
            return self._has(clause, fact)
        return None

    # Numbers.

    def _count(self, clause: Clause, low: float, high: float) -> Outcome | None:
        return self._number(clause, low, high, "the count goes from")

    def _number(self, clause: Clause, low: float, high: float, says: str) -> Outcome | None:
        compared = operand(clause)
        lines = [] if compared is None else list(self._lines(compared))
        if not lines:
            return None
        outcomes = {_against(clause.operator, low, high, line) for line in lines}
        if len(outcomes) != 1:
            return None
        (always,) = outcomes
        line = lines[0]
        return (
            None
            if always is None
            else (always, f"{says} {low:g} to {high:g}, the line is {line:g}")
        )

    def _lines(self, expression: Expression) -> Iterable[float]:
        """Every value the compared expression has on some day; none if it reads facts."""
        if isinstance(expression, bool | str):
            return []
        if isinstance(expression, int | float):
            return [float(expression)]
        if isinstance(expression, ParameterTerm):
            own = self._kb.overlay.get(expression.param)
            values = [v.value for v in self._kb.parameters[expression.param].values]
            return values if own is None else [own]
        if isinstance(expression, Compound) and not isinstance(expression, CalculateTerm):
            parts = [list(self._lines(each)) for each in expression.inner]
            # Several dated values of one part would have to be paired by day; one value is certain.
            if all(len(values) == 1 for values in parts):
                return [ARITHMETIC[expression.holds]([values[0] for values in parts])]
        return []

    # Choices.

    def _choice(self, clause: Clause, fact: FactDeclaration) -> Outcome | None:
        choices = self._kb.book.choices_of(fact)
        compared = clause.one_of if clause.operator == "one_of" else operand(clause)
        if clause.operator == "one_of":
            wanted = set(clause.one_of or ())
            if wanted >= set(choices):
                return Always.TRUE, f"`{fact.id}` has no other choices; test `status: known`"
        elif not isinstance(compared, str) or isinstance(compared, bool):
            return None
        elif clause.operator == "equals":
            wanted = {compared}
        elif clause.operator in ORDER_OPERATORS and compared in choices:
            rank = choices.index(compared)
            always = _against(clause.operator, 0, len(choices) - 1, rank)
            return (
                None
                if always is None
                else (always, f"`{fact.id}` goes from {choices[0]} to {choices[-1]}")
            )
        else:
            return None
        return self._never_concluded(fact, wanted)

    def _has(self, clause: Clause, fact: FactDeclaration) -> Outcome | None:
        wanted = operand(clause)
        return self._never_concluded(fact, {wanted}) if isinstance(wanted, str) else None

    def _never_concluded(self, fact: FactDeclaration, wanted: set[str]) -> Outcome | None:
        if fact.origin != "derived":
            return None
        concluded = self._concluded.get(fact.id)
        if concluded is None or wanted & concluded:
            return None
        return Always.FALSE, f"no rule ever concludes {' or '.join(sorted(wanted))} for `{fact.id}`"


def _status(clause: Clause, fact: FactDeclaration) -> Outcome | None:
    is_open = clause.status in _UNASKED
    if fact.origin == "context":
        always = Always.TRUE if clause.status == "known" else Always.FALSE
        return always, f"`{fact.id}` is always known"
    if fact.origin == "derived" and (
        clause.status == "declined" or (is_open and fact.type is FactType.BOOLEAN)
    ):
        return Always.FALSE, f"`{fact.id}` is concluded by rules, nobody declines or skips it"
    return None


def _against(operator: str, low: float, high: float, line: float) -> Always | None:
    """What a comparison comes to for every value from low to high."""
    never = {
        "at_least": high < line,
        "more_than": high <= line,
        "at_most": low > line,
        "less_than": low >= line,
        "equals": not low <= line <= high,
    }
    ever = {
        "at_least": low >= line,
        "more_than": low > line,
        "at_most": high <= line,
        "less_than": high < line,
        "is_not": not low <= line <= high,
    }
    if never.get(operator):
        return Always.FALSE
    return Always.TRUE if ever.get(operator) else None


def _concluded(kb: KnowledgeBase) -> dict[str, set[str] | None]:
    """Ids that rules conclude for each choice fact; None where some rule computes them."""
    concluded: dict[str, set[str] | None] = {}
    for rule in kb.rules.values():
        for conclusion in rule.then:
            fact = kb.facts[conclusion.fact]
            said = conclusion.to if conclusion.set is not None else conclusion.item
            known = concluded.setdefault(fact.id, set())
            if isinstance(said, str) and known is not None:
                known |= set(fact.groups.get(said, (said,)))
            else:
                concluded[fact.id] = None
    return concluded
