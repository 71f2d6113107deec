"""The compiled book: bound rules, the program for the engines, and the engines themselves."""

import datetime as dt
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field

from assistant.engine.backend import Backend, BackendMaker
from assistant.engine.bound import BoundRule
from assistant.engine.program import Program
from assistant.engine.strata import Levels
from assistant.engine.terms import FactRef
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey


class Engines(threading.local):
    """Engines of one thread, made when first asked for: they must not be shared by threads."""

    def __init__(self) -> None:
        self._made: dict[str, Backend] = {}

    def get(self, kind: str, maker: BackendMaker, program: Program) -> Backend:
        """Return this thread's engine of a kind."""
        if kind not in self._made:
            self._made[kind] = maker(program)
        return self._made[kind]

    def close(self) -> None:
        """Free this thread's engines."""
        for backend in self._made.values():
            backend.close()
        self._made.clear()


@dataclass(frozen=True)
class CompiledBook:
    """A knowledge base ready to run for a day.

    rules: every rule for every element, in the order of rule id and element; a rule's number is
    its place here. closing: for each level, the facts that are complete after it.
    overrides: for each rule id, all rules that give way to it, also through others.
    Engines hold native memory, so a compiled book cannot be pickled: compile in each process.
    """

    kb: KnowledgeBase
    on: dt.date
    rules: tuple[BoundRule, ...]
    levels: Levels
    program: Program
    refs: Mapping[FactKey, FactRef]
    keys_of: Mapping[str, tuple[FactKey, ...]]
    closing: tuple[tuple[FactKey, ...], ...]
    absences_by_level: tuple[tuple[int, ...], ...]
    overrides: Mapping[str, frozenset[str]]
    engines: Engines = field(default_factory=Engines, compare=False, repr=False)

    def rule_level(self, owner: int) -> int:
        """Return the level of a bound rule."""
        return self.levels.rules[self.rules[owner].rule.id]

    def name_of(self, owner: int) -> str:
        """Return rule id and element of a bound rule, for messages."""
        bound = self.rules[owner]
        return bound.rule.id if bound.element is None else f"{bound.rule.id}[{bound.element}]"

    def close(self) -> None:
        """Free the native memory of this thread's engines."""
        self.engines.close()
