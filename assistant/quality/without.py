"""What a plan would be without one rule: the whole book worked out again while that rule is silent."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.lookup import left_out
from assistant.engine.session import Outcome, run_plain
from assistant.engine.terms import Calculator, CaseFacts
from assistant.model.derivation import Run
from assistant.model.errors import EngineFault
from assistant.model.values import FactKey, split_key
from assistant.quality.moves import Shown, shown_of


@dataclass(frozen=True)
class Gone:
    """What a silent rule makes of a run. moved: conclusions before and after; fault: why there is none at all."""

    moved: Mapping[FactKey, tuple[Shown | None, Shown | None]] = field(default_factory=dict)
    fault: str = ""


class Silencer:
    """Works one person out with the whole book, and again while one of its rules is silent.

    fired: the ids of the rules that spoke. Raises EngineFault where there is no plan to begin with.
    """

    def __init__(self, book: CompiledBook, run: Run, calculators: Mapping[str, Calculator]) -> None:
        """Work the person of a run out again. book: that of the run."""
        self._book, facts = book, run.facts
        given = {
            k: f for k, f in facts.items() if book.kb.facts[split_key(k)[0]].origin != "derived"
        }
        self._start = CaseFacts({k: f.value for k, f in given.items()}, {}, calculators)
        self._start.ranges.update(
            {k: (f.low, f.high) for k, f in given.items() if f.low is not None}
        )
        self._by_hand = {k: f.value for k, f in facts.items() if f.ruled is not None}
        self._before = self._worked_out(book.rules)
        self._hidden = left_out(self._before.facts.values)
        self.fired = frozenset(book.rules[owner].rule.id for owner in self._before.conclusions)

    def without(self, rule_id: str) -> Gone:
        """Return what moves when a rule says nothing. What the screen withholds of either is left out."""
        kb = self._book.kb
        rules = [
            replace(each, in_force=False) if each.rule.id == rule_id else each
            for each in self._book.rules
        ]
        try:
            after = self._worked_out(rules)
        except EngineFault as fault:
            return Gone(fault=str(fault))
        hidden = self._hidden | left_out(after.facts.values)
        old, new = (shown_of(kb, each, hidden) for each in (self._before, after))
        keys = (key for key in sorted(old.keys() | new.keys()) if old.get(key) != new.get(key))
        return Gone({key: (old.get(key), new.get(key)) for key in keys})

    def _worked_out(self, rules: Sequence[BoundRule]) -> Outcome:
        start = self._start
        return run_plain(
            self._book, start.values, start.calculators, rules, self._by_hand, start.ranges
        )
