"""Which plans move when a number moves: every parameter one step up and down, over whole cases.

A number can only move a plan through the rules that read it. If none of them, judged on the final
facts of a case, comes to anything else, the plan stands as it is; only the rest is run again.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.engine import CompiledBook, compile_knowledge
from assistant.engine.answers import starting_facts
from assistant.engine.bind import Binder
from assistant.engine.bound import BoundRule
from assistant.engine.decide import Judge
from assistant.engine.session import run_plain
from assistant.knowledge.walk import parameters_read
from assistant.model.case import Case
from assistant.model.errors import EngineFault
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Mark
from assistant.quality.moves import Move, facts_of, moves_between
from assistant.quality.runner import Ran, fast_engine, ran
from assistant.quality.suite import Checked, Options, Subject

# How many numbers that move plans, and that nobody read a text for, are told by name.
_TOLD = 10


@dataclass(frozen=True)
class Moved:
    """One number set to one value, and what it moves in one case."""

    parameter: str
    before: float
    after: float
    who: str
    moves: tuple[Move, ...]


def check_sensitivity(subject: Subject, options: Options) -> Checked:
    """Say for every number which cases move; this is knowledge for the trainer, not a finding."""
    kb = subject.book
    mover = Mover(kb, options.cases, subject.calculators)
    table: dict[str, dict[str, list[str]]] = {}
    for name, parameter in kb.parameters.items():
        for sign, word in ((1, "up"), (-1, "down")):
            value = mover.value(name)
            if value is None:
                continue
            moved = list(mover.moved(name, round(value + sign * parameter.step, 9)))
            if moved:
                table.setdefault(name, {})[word] = [each.who for each in moved]
    count = len(kb.parameters)
    said = f"{len(table)} of {count} numbers move a plan of {len(options.cases)} cases by one step"
    reach = {
        name: len({who for each in ways.values() for who in each}) for name, ways in table.items()
    }
    unread = [n for n in reach if kb.best_mark(kb.parameters[n].source) is not Mark.READ]
    first = sorted(unread, key=lambda name: (-reach[name], name))[:_TOLD]
    if first:
        told = ", ".join(f"{name} ({reach[name]})" for name in first)
        said += f"; of those that no text read stands behind, most: {told}"
    return Checked(
        "sensitivity", (), said, {"numbers": count, "moving": table, "unread_first": first}
    )


class Mover:
    """Runs the cases once, then tells what a changed number would change."""

    def __init__(
        self,
        kb: KnowledgeBase,
        cases: Sequence[tuple[str, Case]],
        calculators: Mapping[str, Any],
    ) -> None:
        self._kb = kb
        self._calculators = calculators
        self._cases = cases
        self._books: dict[dt.date, CompiledBook] = {}
        self._readers: dict[str, list[str]] = {}
        for rule in kb.rules.values():
            for name in parameters_read(rule):
                self._readers.setdefault(name, []).append(rule.id)
        self._before = [(case, self._run(kb, who, case)) for who, case in cases]

    def value(self, name: str) -> float | None:
        """Return the number in force on the day of the first case; None if it is in force later."""
        day = self._cases[0][1].as_of if self._cases else None
        try:
            return None if day is None else self._kb.parameter_value(name, day).value
        except KeyError:
            return None

    def moved(self, name: str, value: float) -> Iterator[Moved]:
        """Yield each case that would move if the number had another value, and what moves."""
        for case, before, after in self.tried(name, value):
            if after is before:
                continue
            moves = tuple(
                moves_between(self._kb, facts_of(self._kb, before), facts_of(self._kb, after))
            )
            if after.fault:
                moves = (Move("plan", "a plan", f"no plan: {after.fault}"),)
            if moves:
                was = self._kb.parameter_value(name, case.as_of).value
                yield Moved(name, was, value, before.who, moves)

    def tried(self, name: str, value: float) -> Iterator[tuple[Case, Ran, Ran]]:
        """Yield each case with its run, and its run with another value: the same one where nothing reads it."""
        bound: dict[dt.date, dict[int, BoundRule]] = {}
        for case, before in self._before:
            if before.outcome is None:
                continue
            if case.as_of not in bound:
                bound[case.as_of] = self._with(name, value, case.as_of)
            rules = bound[case.as_of]
            may_move = self._may_move(rules, before)
            yield case, before, self._again(rules, case, before) if may_move else before

    def _run(self, kb: KnowledgeBase, who: str, case: Case) -> Ran:
        if case.as_of not in self._books:
            self._books[case.as_of] = compile_knowledge(kb, case.as_of)
        book = self._books[case.as_of]
        return ran(book, fast_engine(book), who, case.answers, self._calculators)

    def _with(self, name: str, value: float, on: dt.date) -> dict[int, BoundRule]:
        """The bound rules that read the number, bound with its other value, by their place."""
        readers = self._readers.get(name, ())
        return {
            owner: Binder(bound.rule, bound.element, self._kb, on, {name: value}).bind(0, "")
            for owner, bound in enumerate(self._books[on].rules)
            if bound.rule.id in readers and bound.in_force
        }

    @staticmethod
    def _may_move(rules: dict[int, BoundRule], before: Ran) -> bool:
        """Whether a rule that reads the number comes to something else on the same facts."""
        assert before.outcome is not None  # the caller saw to it
        facts = before.outcome.facts
        for owner, bound in rules.items():
            try:
                if Judge(facts).says(bound) != before.outcome.conclusions.get(owner, ()):
                    return True
            except EngineFault:
                return True
        return False

    def _again(self, rules: dict[int, BoundRule], case: Case, before: Ran) -> Ran:
        book = self._books[case.as_of]
        changed = [rules.get(owner, bound) for owner, bound in enumerate(book.rules)]
        start = starting_facts(book, case.answers, case.as_of)
        try:
            outcome = run_plain(book, start.values, self._calculators, changed)
        except EngineFault as fault:
            return Ran(before.who, case.answers, fault=str(fault))
        return Ran(before.who, case.answers, outcome)
