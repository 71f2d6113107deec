"""One run of a program on one case: level by level, with the host doing what engines must not.

The host emits attributes of closed facts, works out computed ones and absences, lets the engine
say which rules fire, draws their conclusions and combines them before the next level starts.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from assistant.engine.backend import AttributeFact, Backend, CaseMemory, Firing
from assistant.engine.bound import BoundRule
from assistant.engine.combine import Combined
from assistant.engine.compiled import CompiledBook
from assistant.engine.decide import Judge, conclude
from assistant.engine.level_loop import work_through
from assistant.engine.program import Attribute, Plain, Test
from assistant.engine.readings import status_names, weigh
from assistant.engine.terms import Calculator, CaseFacts, FactRef
from assistant.model.derivation import Concluded, Holds
from assistant.model.errors import EngineFault
from assistant.model.values import FactKey, Status, Value


@dataclass
class Outcome:
    """What a session found.

    fired: for every compiled rule that fired, the attributes and values that matched.
    conclusions: of every bound rule that fired, by its number. combined: final derived facts.
    """

    facts: CaseFacts
    fired: dict[int, tuple[tuple[int, Plain], ...]] = field(default_factory=dict)
    conclusions: dict[int, tuple[Concluded, ...]] = field(default_factory=dict)
    combined: dict[FactKey, Combined] = field(default_factory=dict)

    def conclude(self, owner: int, bound: BoundRule) -> tuple[int, tuple[Concluded, ...]]:
        """Keep and return what a rule concludes from the facts so far, with its number."""
        self.conclusions[owner] = conclude(bound, self.facts)
        return owner, self.conclusions[owner]


def run_session(
    book: CompiledBook,
    backend: Backend,
    values: Mapping[FactKey, Value],
    calculators: Mapping[str, Calculator],
    ranges: Mapping[FactKey, tuple[float | None, float | None]] | None = None,
    by_hand: Mapping[FactKey, Value] | None = None,
) -> Outcome:
    """Run a case. `values` holds answers (defaults already taken) and context facts.

    ranges: low and high of given facts that carry them (what a record measured). by_hand: values that
    replace what the rules conclude.

    Raises EngineFault if the engine misbehaves, a calculator refuses its inputs, or two rules
    conclude different values of a one-valued fact.
    """
    outcome = Outcome(CaseFacts(dict(values), dict(ranges or {}), calculators))
    with backend.case() as memory:
        session = _Session(book, memory, outcome)
        outcome.combined = work_through(book, outcome.facts, session.advance, by_hand=by_hand)
    return outcome


def run_plain(
    book: CompiledBook,
    values: Mapping[FactKey, Value],
    calculators: Mapping[str, Calculator],
    rules: Sequence[BoundRule] | None = None,
    by_hand: Mapping[FactKey, Value] | None = None,
    ranges: Mapping[FactKey, tuple[float | None, float | None]] | None = None,
) -> Outcome:
    """Work a case out without an engine, by judging every rule when all that it reads is closed.

    Compiling a book for an engine takes many times longer than one case, so this is for trying
    other `rules` in the place of the book's own: the same rules with other numbers in them.
    Raises EngineFault as a session does.
    """
    rules = book.rules if rules is None else rules
    outcome = Outcome(CaseFacts(dict(values), dict(ranges or {}), calculators))
    judge = Judge(outcome.facts)

    def firing(level: int) -> Iterator[tuple[int, tuple[Concluded, ...]]]:
        for owner in book.by_level[level]:
            if judge.fires(rules[owner]):
                yield outcome.conclude(owner, rules[owner])

    outcome.combined = work_through(book, outcome.facts, firing, by_hand=by_hand)
    return outcome


class _Session:
    """The state of a run between levels."""

    def __init__(self, book: CompiledBook, memory: CaseMemory, outcome: Outcome) -> None:
        self._book = book
        self._program = book.program
        self._memory = memory
        self._outcome = outcome
        self._facts: list[tuple[int, Plain]] = []
        self._by_attribute: dict[int, list[Plain]] = {}
        self._owners: dict[int, set[int]] = {}

    def advance(self, level: int) -> Iterator[tuple[int, tuple[Concluded, ...]]]:
        """Run one level: what each rule that fired at it concludes, in the order of the rules."""
        new: list[AttributeFact] = []
        for attribute in self._program.attributes_of[level - 1]:
            for value in _told(self._program.attributes[attribute], self._outcome.facts):
                new.append((len(self._facts), attribute, value))
                self._facts.append((attribute, value))
                self._by_attribute.setdefault(attribute, []).append(value)
        absent = [
            number
            for number in self._program.absences_of[level]
            if not any(map(self._passes, self._program.absences[number].tests))
        ]
        for firing in self._memory.advance(level, new, absent):
            self._record(firing)
        # An engine may match a rule before its level; it concludes when all it reads is closed.
        for owner in sorted(self._owners.get(level, ())):
            yield self._outcome.conclude(owner, self._book.rules[owner])

    def _passes(self, test: Test) -> bool:
        return any(map(test.meets, self._by_attribute.get(test.attribute, ())))

    def _record(self, firing: Firing) -> None:
        """Note a firing, after checking that the facts named do pass the rule's tests."""
        rule = self._program.rules[firing.rule]
        matched = tuple(self._facts[number] for number in firing.matched)
        if len(matched) != len(rule.tests) or not all(
            test.attribute == attribute and test.meets(value)
            for test, (attribute, value) in zip(rule.tests, matched, strict=True)
        ):
            raise EngineFault(
                f"rule {self._book.name_of(rule.owner)} was reported to fire on facts that do "
                f"not meet its conditions: {matched}"
            )
        self._outcome.fired[firing.rule] = matched
        self._owners.setdefault(rule.level, set()).add(rule.owner)


def _told(attribute: Attribute, facts: CaseFacts) -> Sequence[Plain]:
    """Return the values of an attribute in a case."""
    if attribute.comparison is not None:
        weighed = weigh(attribute.comparison, facts)
        signs = () if weighed.sign is None else (float(weighed.sign),)
        is_open = ("unanswered",) if weighed.holds is Holds.UNKNOWN else ()
        return signs if attribute.kind == "sign" else is_open
    if attribute.fact is None:
        return ("true",)
    value, known = facts.look(attribute.fact)
    if attribute.kind == "status":
        return status_names(known, value)
    if value is None or isinstance(value, Status):
        return ()
    items = value if isinstance(value, tuple) else (value,)
    if attribute.kind == "size":
        return (float(len(items)),) if items is value else ()
    return [_plain(item, attribute.fact) for item in items]


def _plain(value: bool | float | str, ref: FactRef) -> Plain:
    """Return a value as engines hold it: numbers as floats, yes and no as text."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return value
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError) as error:
        raise EngineFault(f"`{ref.key}` has the value {value!r}, which is no number") from error
