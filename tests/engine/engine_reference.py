"""A second, naive reading of the rules, to hold the engine against.

It shares no code with the engine: no levels, no compilation, no attributes. It asks for a fact,
which asks every rule that could conclude it, which asks for the facts they read, and so on.
"""

import datetime as dt
import operator
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from assistant.model.clauses import AnyOf, Clause
from assistant.model.expressions import (
    CalculateTerm,
    DifferenceTerm,
    FactTerm,
    LoopTerm,
    ParameterTerm,
    ProductTerm,
    SumTerm,
)
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Conclusion, Rule
from assistant.model.values import Status

OPERATORS: dict[str, Callable[[Any, Any], Any]] = {
    "at_least": operator.ge,
    "at_most": operator.le,
    "more_than": operator.gt,
    "less_than": operator.lt,
    "equals": operator.eq,
    "is_not": operator.ne,
    "one_of": lambda have, want: have in want,
    "has": lambda have, want: want in have,
    "lacks": lambda have, want: want not in have,
    "not_empty": lambda have, _: len(have) > 0,
}
NOTHING, OPEN, ABSENT = "nothing", "open", "absent"  # three ways of having no value


class Conflict(Exception):
    """Two rules give one fact two values."""


class Reference:
    """Final facts and verdicts of one case, worked out on demand."""

    def __init__(
        self,
        kb: KnowledgeBase,
        answers: Mapping[str, Any],
        on: dt.date,
        calculators: Mapping[str, Any],
    ) -> None:
        self.kb, self.on, self.calculators = kb, on, calculators
        self.answers = dict(answers)
        self.facts: dict[str, Any] = {}
        self._gave_way: set[tuple[str, str | None]] = set()
        self._stands: set[tuple[str, str | None]] = set()
        self.verdicts: dict[tuple[str, str | None], tuple[str, dict[str, str]]] = {}

    @property
    def overridden(self) -> set[tuple[str, str | None]]:
        """Rules that gave way and stand nowhere else."""
        return self._gave_way - self._stands

    def everything(self) -> None:
        """Work out all facts and all verdicts."""
        for fact_id, fact in self.kb.facts.items():
            for index in self.kb.book.domains[fact.index] if fact.index else (None,):
                self.fact(fact_id, index)
        for rule in self.kb.rules.values():
            for element in self.loop(rule):
                self.verdict(rule, element)

    def loop(self, rule: Rule) -> tuple[str | None, ...]:
        if not rule.for_each:
            return (None,)
        (source,) = rule.for_each.values()
        domains = self.kb.book.domains
        return domains[source] if source in domains else self.kb.facts[source].choices

    # Facts.

    def fact(self, fact_id: str, index: str | None) -> Any:
        """The value of a fact, or one of NOTHING, OPEN and ABSENT (as a one-item list)."""
        key = f"{fact_id}[{index}]" if index else fact_id
        if key not in self.facts:
            self.facts[key] = self._work_out(fact_id, key)
        return self.facts[key]

    def _work_out(self, fact_id: str, key: str) -> Any:
        fact = self.kb.facts[fact_id]
        if fact.origin == "context":
            return self.on.isoformat()
        if fact.origin in ("answer", "record"):
            given = self.answers.get(key, Status.UNKNOWN)
            if given in (Status.UNKNOWN, Status.DECLINED):
                return [OPEN] if fact.default is None else fact.default.value
            return [NOTHING] if isinstance(given, Status) else given
        said = list(self._said(key))
        if not said:
            return False if fact.type == "boolean" else [ABSENT]
        if fact.combine == "collect":
            self._stands |= {who for who, _ in said}
            return tuple(sorted({item for _, item in said}))
        if fact.combine == "one":
            said = self._standing(said)
            value = said[0][1]
        elif fact.combine == "any":
            value = any(value for _, value in said)
        else:
            pick = min if fact.combine == "min" else max
            values = [value for _, value in said]
            value = pick(values, key=fact.choices.index) if fact.choices else pick(values)
        self._stands |= {who for who, one in said if one == value}
        return value

    def _standing(
        self, said: list[tuple[tuple[str, str | None], Any]]
    ) -> list[tuple[tuple[str, str | None], Any]]:
        stays = list(said)
        for (rule_id, element), value in said:
            for (other_id, _), other_value in said:
                if rule_id in self._beats(other_id) and value != other_value:
                    self._gave_way.add((rule_id, element))
                    stays = [one for one in stays if one != ((rule_id, element), value)]
        if len({value for _, value in stays}) != 1:
            raise Conflict
        return stays

    def _beats(self, rule_id: str) -> set[str]:
        direct = set(self.kb.rules[rule_id].overrides)
        return direct.union(*(self._beats(other) for other in direct))

    def _said(self, key: str) -> Iterator[tuple[tuple[str, str | None], Any]]:
        for rule in self.kb.rules.values():
            for element in self.loop(rule):
                about = [one for one in rule.then if self._key(one, rule, element) == key]
                if about and self.verdict(rule, element)[0] == "fired":
                    for conclusion in about:
                        fact = self.kb.facts[conclusion.fact]
                        if conclusion.set is not None:
                            value = self.term(conclusion.to, rule, element)
                            yield (rule.id, element), value
                        else:
                            item = self.term(conclusion.item, rule, element)
                            for member in fact.groups.get(item, (item,)):
                                yield (rule.id, element), member

    def _key(self, conclusion: Conclusion, rule: Rule, element: str | None) -> str:
        index = element if conclusion.of == rule.loop_variable else conclusion.of
        return f"{conclusion.fact}[{index}]" if conclusion.of else conclusion.fact

    # Rules.

    def verdict(self, rule: Rule, element: str | None) -> tuple[str, dict[str, str]]:
        """The verdict and the three-valued outcome by clause address."""
        place = (rule.id, element)
        if place not in self.verdicts:
            self.verdicts[place] = self._judge(rule, element)
        return self.verdicts[place]

    def _judge(self, rule: Rule, element: str | None) -> tuple[str, dict[str, str]]:
        first, last = rule.in_force_from, rule.in_force_until
        if (first and self.on < first) or (last and self.on > last):
            return "not_in_force", {}
        seen: dict[str, str] = {}
        groups = [self._group(number, one, rule, element) for number, one in enumerate(rule.when)]
        for source in (rule.for_each or {}).values():
            if source not in self.kb.book.domains:
                clause = Clause(fact=source, has=element)
                groups.append({"for_each.0": self.clause(clause, rule, element, brake=False)})
        for key, (fact_id, index, address) in self._used(rule, element).items():
            value = self.fact(fact_id, index)
            assert key
            state = (
                {"[": "unknown"}.get(str(value)[0], "true") if isinstance(value, list) else "true"
            )
            groups.append({address: "false" if value == [NOTHING] else state})
        for group in groups:
            seen.update(group)
        brakes = {
            f"{role}.{number}": self.clause(clause, rule, element, brake=True)
            for role, clauses in (("unless", rule.unless), ("excused_by", rule.excused_by))
            for number, clause in enumerate(clauses)
        }
        if rule.stage != "screen":
            outputs = dict.fromkeys(
                output for one in rule.then for output in self.kb.facts[one.fact].reveals
            )
            for number, output in enumerate(outputs):
                withheld = self.fact("screen.withheld", None)
                brakes[f"withheld.{number}"] = "true" if output in withheld else "false"
        seen.update(brakes)
        if any(set(group.values()) == {"false"} for group in groups):
            return "failed_at", seen
        if "true" in brakes.values():
            return "blocked_by", seen
        unsure = any("true" not in group.values() for group in groups)
        open_brakes = [held for place, held in brakes.items() if not place.startswith("excused")]
        return ("needs" if unsure or "unknown" in open_brakes else "fired"), seen

    def _group(
        self, number: int, condition: Clause | AnyOf, rule: Rule, element: str | None
    ) -> dict[str, str]:
        if isinstance(condition, Clause):
            return {f"when.{number}": self.clause(condition, rule, element, brake=False)}
        return {
            f"when.{number}.any_of.{part}": self.clause(clause, rule, element, brake=False)
            for part, clause in enumerate(condition.any_of)
        }

    def _used(self, rule: Rule, element: str | None) -> dict[str, tuple[str, str | None, str]]:
        used: dict[str, tuple[str, str | None, str]] = {}
        for number, one in enumerate(rule.then):
            for expression in (one.to, one.item, one.low, one.high):
                for term in self._facts_in(expression):
                    index = self._index(term.of, rule, element)
                    used.setdefault(f"{term.fact}[{index}]", (term.fact, index, f"then.{number}"))
        return used

    def _facts_in(self, expression: Any) -> Iterator[FactTerm]:
        if isinstance(expression, FactTerm):
            yield expression
        for name in ("sum", "difference", "product", "given"):
            for part in getattr(expression, name, ()):
                yield from self._facts_in(part)

    # Clauses and terms.

    def _index(self, of: str | None, rule: Rule, element: str | None) -> str | None:
        return element if of is not None and of == rule.loop_variable else of

    def clause(self, clause: Clause, rule: Rule, element: str | None, *, brake: bool) -> str:
        """true, false or unknown."""
        if clause.count_true is not None:
            return self._count(clause, rule, element, brake=brake)
        name = clause.fact or clause.count_items
        assert name is not None
        have = self.fact(name, self._index(clause.of, rule, element))
        if clause.status is not None:
            return self._status(clause.status, name, clause, rule, element)
        want: Any = clause.operand
        if clause.operator not in ("one_of", "not_empty"):
            want = self.term(want, rule, element)
        blank = self._blank([have, want], brake=brake)
        if blank is not None:
            return blank
        if clause.count_items is not None:
            have = len(have)
        return (
            "true"
            if self._holds(clause.operator, have, want, self.kb.facts[name].choices)
            else "false"
        )

    def _blank(self, sides: list[Any], *, brake: bool) -> str | None:
        states = {side[0] for side in sides if isinstance(side, list)}
        if NOTHING in states:
            return "false"
        if OPEN in states:
            return "unknown"
        if ABSENT in states:
            return "false" if brake else "unknown"
        return None

    def _holds(self, name: str, have: Any, want: Any, order: tuple[str, ...] = ()) -> bool:
        if name in ("at_least", "at_most", "more_than", "less_than") and have in order:
            have, want = order.index(have), order.index(want)
        return bool(OPERATORS[name](have, want))

    def _count(self, clause: Clause, rule: Rule, element: str | None, *, brake: bool) -> str:
        values = [self.fact(name, None) for name in clause.count_true or ()]
        want = self.term(clause.operand, rule, element)
        blank = self._blank([want], brake=brake)
        if blank is not None:
            return blank
        yes, could = values.count(True), values.count([OPEN])
        if self._holds(clause.operator, float(yes), want):
            return "true"
        return "unknown" if self._holds(clause.operator, float(yes + could), want) else "false"

    def _status(self, want: str, name: str, clause: Clause, rule: Rule, element: str | None) -> str:
        index = self._index(clause.of, rule, element)
        value = self.fact(name, index)
        key = f"{name}[{index}]" if index else name
        if not isinstance(value, list):
            names = {"known"}
        elif self.kb.facts[name].origin == "answer":
            given = str(self.answers.get(key, Status.UNKNOWN))
            names = {given, "unanswered"} if value == [OPEN] else {given}
        else:
            names = {"unknown", "unanswered"}
        return "true" if want in names else "false"

    def term(self, expression: Any, rule: Rule, element: str | None) -> Any:
        """The value of an expression, or why it has none."""
        if isinstance(expression, ParameterTerm):
            own = self.kb.overlay.get(expression.param)
            dated = self.kb.parameters[expression.param].in_force(self.on)
            assert dated is not None
            return dated.value if own is None else own
        if isinstance(expression, LoopTerm):
            return element
        if isinstance(expression, FactTerm):
            return self.fact(expression.fact, self._index(expression.of, rule, element))
        for kind, name in (
            (SumTerm, "sum"),
            (DifferenceTerm, "difference"),
            (ProductTerm, "product"),
        ):
            if isinstance(expression, kind):
                parts = [self.term(part, rule, element) for part in getattr(expression, name)]
                return self._apply(name, parts)
        if isinstance(expression, CalculateTerm):
            parts = [self.term(part, rule, element) for part in expression.given]
            blanks = [part for part in parts if isinstance(part, list)]
            return self._worst(blanks) or self.calculators[expression.calculate].function(*parts)
        return expression

    def _worst(self, blanks: list[list[str]]) -> list[str] | None:
        for state in (NOTHING, OPEN, ABSENT):
            if [state] in blanks:
                return [state]
        return None

    def _apply(self, name: str, parts: list[Any]) -> Any:
        worst = self._worst([part for part in parts if isinstance(part, list)])
        if worst is not None:
            return worst
        if name == "sum":
            return round(sum(parts), 9)
        if name == "difference":
            return round(parts[0] - parts[1], 9)
        result = 1.0
        for part in parts:
            result *= part
        return round(result, 9)
