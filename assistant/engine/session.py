"""One run of a program on one case: level by level, with the host doing what engines must not.

The host emits attributes of closed facts, works out computed ones and absences, lets the engine
say which rules fire, draws their conclusions and combines them before the next level starts.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from assistant.engine.backend import AttributeFact, Backend, CaseMemory, Firing
from assistant.engine.combine import Combined
from assistant.engine.compiled import CompiledBook
from assistant.engine.decide import conclude
from assistant.engine.level_loop import work_through
from assistant.engine.program import Computed, Emission, Plain, Test
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


def run_session(
    book: CompiledBook,
    backend: Backend,
    values: Mapping[FactKey, Value],
    calculators: Mapping[str, Calculator],
    ranges: Mapping[FactKey, tuple[float | None, float | None]] | None = None,
) -> Outcome:
    """Run a case. `values` holds answers (defaults already taken) and context facts.

    ranges: low and high of given facts that carry them (what a record measured).

    Raises EngineFault if the engine misbehaves, a calculator refuses its inputs, or two rules
    conclude different values of a one-valued fact.
    """
    outcome = Outcome(CaseFacts(dict(values), dict(ranges or {}), calculators))
    with backend.case() as memory:
        session = _Session(book, memory, outcome)
        outcome.combined = work_through(book, outcome.facts, session.advance)
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
        self._owners: set[int] = set()

    def advance(self, level: int) -> Iterator[tuple[int, tuple[Concluded, ...]]]:
        """Run one level: what each rule that fired at it concludes, in the order of the rules."""
        new: list[AttributeFact] = []
        if level == 1 and self._program.always is not None:
            self._emit(new, self._program.always, "true")
        for emission in self._program.emissions[level - 1]:
            self._emit_fact(new, emission)
        for computed in self._program.computed[level - 1]:
            self._emit_computed(new, computed)
        absent = [
            number
            for number in self._book.absences_by_level[level]
            if not any(map(self._passes, self._program.absences[number].tests))
        ]
        self._owners |= {
            self._record(firing) for firing in self._memory.advance(level, new, absent)
        }
        # An engine may match a rule before its level; it concludes when all it reads is closed.
        for owner in sorted(o for o in self._owners if self._book.rule_level(o) == level):
            conclusions = conclude(self._book.rules[owner], self._outcome.facts)
            self._outcome.conclusions[owner] = conclusions
            yield owner, conclusions

    # Attributes.

    def _emit(self, new: list[AttributeFact], attribute: int, value: Plain) -> None:
        new.append((len(self._facts), attribute, value))
        self._facts.append((attribute, value))
        self._by_attribute.setdefault(attribute, []).append(value)

    def _emit_fact(self, new: list[AttributeFact], emission: Emission) -> None:
        ref = self._book.refs[emission.key]
        value, known = self._outcome.facts.look(ref)
        if emission.status is not None:
            for name in status_names(known, value):
                self._emit(new, emission.status, name)
        if value is None or isinstance(value, Status):
            return
        if emission.size is not None and isinstance(value, tuple):
            self._emit(new, emission.size, float(len(value)))
        if emission.value is not None:
            for part in value if isinstance(value, tuple) else (value,):
                self._emit(new, emission.value, _plain(part, ref))

    def _emit_computed(self, new: list[AttributeFact], computed: Computed) -> None:
        weighed = weigh(computed.clause, self._outcome.facts)
        if weighed.sign is not None:
            self._emit(new, computed.sign, float(weighed.sign))
        if computed.unanswered is not None:
            holds = weighed.holds(computed.clause.operator, computed.clause.role)
            if holds is Holds.UNKNOWN:
                self._emit(new, computed.unanswered, "unanswered")

    def _passes(self, test: Test) -> bool:
        return any(map(test.meets, self._by_attribute.get(test.attribute, ())))

    def _record(self, firing: Firing) -> int:
        """Note a firing, after checking that the facts named do pass the rule's tests; return the rule."""
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
        return rule.owner


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
