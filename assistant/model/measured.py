"""What a client's record tells, as facts of a run: the least that the rules need of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from assistant.model.values import FactKey, Value


class RecordTells(Protocol):
    """Facts measured from a record (`record.*`), and the intervals of those that have one."""

    @property
    def values(self) -> Mapping[FactKey, Value]:
        """The facts by key."""
        ...

    @property
    def ranges(self) -> Mapping[FactKey, tuple[float, float]]:
        """Low and high of the facts that have them."""
        ...


@dataclass(frozen=True)
class Measured:
    """The same, kept from an earlier run."""

    values: Mapping[FactKey, Value]
    ranges: Mapping[FactKey, tuple[float, float]]
