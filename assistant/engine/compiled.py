"""The compiled book: bound rules, the program for the engines, and the engines themselves."""

import datetime as dt
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.engine.backend import Backend, BackendMaker
from assistant.engine.bound import BoundRule
from assistant.engine.program import Program
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
    its place here. by_level: for each level, the rules in force. closing: for each level, the facts that are complete after it.
    owners: the numbers of each rule's elements. overrides: for each rule id, all rules that give way to it, also through others.
    Engines hold native memory, so a packed book has none: each process makes its own.
    """

    kb: KnowledgeBase
    on: dt.date
    rules: tuple[BoundRule, ...]
    program: Program
    refs: Mapping[FactKey, FactRef]
    keys_of: Mapping[str, tuple[FactKey, ...]]
    by_level: tuple[tuple[int, ...], ...]
    closing: tuple[tuple[FactKey, ...], ...]
    overrides: Mapping[str, frozenset[str]]
    owners: Mapping[str, tuple[int, ...]]
    engines: Engines = field(default_factory=Engines, compare=False, repr=False)

    def __getstate__(self) -> dict[str, Any]:
        return {name: part for name, part in vars(self).items() if name != "engines"}

    def __setstate__(self, state: dict[str, Any]) -> None:
        vars(self).update(state, engines=Engines())

    def name_of(self, owner: int) -> str:
        """Return rule id and element of a bound rule, for messages."""
        bound = self.rules[owner]
        return bound.rule.id if bound.element is None else f"{bound.rule.id}[{bound.element}]"

    def close(self) -> None:
        """Free the native memory of this thread's engines."""
        self.engines.close()
