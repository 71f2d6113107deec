"""What differs between two runs of the same person, in the words of the facts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from assistant.engine.lookup import left_out
from assistant.engine.session import Outcome
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Value, split_key
from assistant.quality.runner import Ran

_MOST_DECIMALS = 9

Shown = tuple[Value, float | None, float | None]


@dataclass(frozen=True)
class Move:
    """One conclusion that is another one now. fact: its key. before, after: in words."""

    fact: FactKey
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.fact}: {self.before} → {self.after}"


def facts_of(kb: KnowledgeBase, run: Ran) -> dict[FactKey, Shown]:
    """Return every conclusion of a run with its range; none where the run broke off.

    What reveals a withheld output is left out, the screen's own conclusions included.
    """
    if run.outcome is None:
        return {}
    return shown_of(kb, run.outcome, left_out(run.outcome.facts.values))


def shown_of(kb: KnowledgeBase, outcome: Outcome, hidden: frozenset[str]) -> dict[FactKey, Shown]:
    """Return every conclusion with its range, but those that reveal a hidden output."""
    return {
        key: (said.value, said.low, said.high)
        for key, said in outcome.combined.items()
        if not hidden & set(kb.facts[split_key(key)[0]].reveals)
    }


def moves_between(
    kb: KnowledgeBase, before: Mapping[FactKey, Shown], after: Mapping[FactKey, Shown]
) -> Iterator[Move]:
    """Yield what differs, in order of key."""
    for key in sorted(before.keys() | after.keys()):
        if before.get(key) != after.get(key):
            decimals = kb.facts[split_key(key)[0]].decimals if split_key(key)[0] in kb.facts else 2
            yield Move(key, *_told_apart(before.get(key), after.get(key), decimals))


def _told_apart(before: Shown | None, after: Shown | None, decimals: int) -> tuple[str, str]:
    """Both values, with as many decimals as it takes to see that they differ."""
    told = worded(before, decimals), worded(after, decimals)
    while told[0] == told[1] and decimals < _MOST_DECIMALS:
        decimals += 1
        told = worded(before, decimals), worded(after, decimals)
    return told


def worded(shown: Shown | None, decimals: int) -> str:
    """A value with its range, as a person reads it."""
    if shown is None:
        return "nothing"
    value, low, high = shown
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(value) or "none"
    if not isinstance(value, float):
        return str(value)
    text = _number(value, decimals)
    if low is None or high is None:
        return text
    return f"{text} ({_number(low, decimals)} to {_number(high, decimals)})"


def _number(value: float, decimals: int) -> str:
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
