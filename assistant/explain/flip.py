"""The smallest change of the client's own answers that changes a conclusion, with its proof.

Every combination of declared steps is tried in the order of effort, so the first that reaches the
goal is the smallest, and trying all without one proves that there is none. Values of one answer that
no rule on the way to the goal can tell apart are tried once, at the smallest effort; that leaves out
nothing that could reach the goal with less.
"""

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import Any

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.lookup import WITHHELD_FACTS, left_out
from assistant.engine.readings import read_clause
from assistant.engine.terms import Calculator, CaseFacts
from assistant.engine.trial import Fork, Trial, rules_behind
from assistant.explain.goals import Goal
from assistant.explain.levers import Step, levers_of, steps
from assistant.model.derivation import Run
from assistant.model.errors import EngineFault
from assistant.model.values import FactKey, Status, Value

LEVEL_FACT = "screen.level"
# How many combinations are tried before the search says that it did not look further.
MOST_TRIED = 20_000
_MOST_EQUALS = 4


@dataclass(frozen=True)
class Move:
    """One answer changed. alike: other values of the same effort that do the same."""

    key: FactKey
    before: Value
    after: Value
    alike: tuple[Value, ...]


@dataclass(frozen=True)
class Flip:
    """Changes that together reach the goal, and what the goal's fact then is."""

    moves: tuple[Move, ...]
    cost: float
    value: Value | None

    @property
    def answers(self) -> Mapping[FactKey, Value]:
        """The changed answers by fact."""
        return {move.key: move.after for move in self.moves}


@dataclass(frozen=True)
class Search:
    """What a search found and how far it went.

    flips: all found at the smallest effort (at most a handful). levers: the answers that can have a
    say. tried: combinations judged, of `total`; values that no rule tells apart count once.
    complete: everything cheaper than what was found, or everything at all, was tried. up_to: the
    effort up to which all was tried. refused: combinations that would take more out of the plan by
    the screen, or that no plan can be made of. fixed: of `levers`, those without another value to
    try. closed: answers that can have a say but must not be used. rules: the rules on the way.
    """

    flips: tuple[Flip, ...]
    levers: tuple[FactKey, ...]
    tried: int
    total: int
    complete: bool
    up_to: float
    refused: int
    fixed: tuple[FactKey, ...] = ()
    closed: tuple[FactKey, ...] = ()
    rules: tuple[BoundRule, ...] = ()


@dataclass(frozen=True)
class _Class:
    """Values of one lever that nothing tells apart."""

    value: Value
    cost: float
    alike: tuple[Value, ...]


def find_flip(
    book: CompiledBook,
    run: Run,
    calculators: Mapping[str, Calculator],
    goal: Goal,
    closed: frozenset[FactKey] = frozenset(),
    most: int = MOST_TRIED,
) -> Search:
    """Search for the smallest change that reaches a goal.

    closed: levers that must not be used, because the reader may not see them.
    """
    return Flipper(book, run, calculators, [goal.key], closed).find(goal, most)


class Flipper:
    """Searches for the smallest changes that reach goals about some facts of one run."""

    def __init__(
        self,
        book: CompiledBook,
        run: Run,
        calculators: Mapping[str, Calculator],
        keys: Iterable[FactKey],
        closed: frozenset[FactKey],
    ) -> None:
        kb = book.kb
        self._book, self._run, self._closed = book, run, closed
        self._levers = {key: lever for key, lever in levers_of(kb).items() if key not in closed}
        screen = [key for key in (*WITHHELD_FACTS, LEVEL_FACT) if key in kb.facts]
        self._trial = Trial(book, run, calculators, self._levers, [*keys, *screen])
        levels = kb.facts[LEVEL_FACT].choices if LEVEL_FACT in kb.facts else ()
        self._allowed = _Allowed(run, levels)
        self._known: dict[FactKey, list[_Class]] = {}

    def find(self, goal: Goal, most: int = MOST_TRIED) -> Search:
        """Search for the smallest change that reaches a goal, judging so many combinations at most."""
        useful = sorted(self._trial.moved_by.get(goal.key, frozenset()))
        now = {key: self._now(key) for key in useful}
        options = [self._options(key) for key in useful]
        found: list[Flip] = []
        tried = refused = 0
        up_to, complete = 0.0, True
        for cost, picks in _in_order(options):
            if found and (cost > found[0].cost or len(found) >= _MOST_EQUALS):
                break
            if tried >= most:
                complete = bool(found)
                break
            tried += 1
            up_to = cost
            moved = {
                key: classes[pick]
                for key, pick, classes in zip(useful, picks, options, strict=True)
                if pick
            }
            facts = self._facts(moved)
            if facts is None:
                refused += 1
                continue
            value = facts.values.get(goal.key)
            if value is None:
                value = _missing(self._book, goal)
            if goal.is_met(value):
                moves = (Move(key, now[key], one.value, one.alike) for key, one in moved.items())
                found.append(Flip(tuple(moves), cost, value))
        owners, read = rules_behind(self._book, frozenset({goal.key}))
        return Search(
            tuple(found),
            tuple(useful),
            tried,
            prod(len(each) for each in options),
            complete,
            up_to,
            refused,
            tuple(key for key in useful if not self._steps(key)),
            tuple(sorted(self._closed & read)),
            tuple(self._book.rules[owner] for owner in sorted(owners)),
        )

    def _facts(self, moved: Mapping[FactKey, _Class]) -> CaseFacts | None:
        """Return the facts after some moves; None where no plan could be made, or the screen took more out."""
        try:
            facts = self._trial.facts({key: one.value for key, one in moved.items()})
        except EngineFault:
            return None
        return facts if self._allowed.permits(facts) else None

    def _now(self, key: FactKey) -> Value:
        return self._run.facts[key].value if key in self._run.facts else Status.UNKNOWN

    def _steps(self, key: FactKey) -> list[Step]:
        kb = self._book.kb
        return steps(kb.facts[key], self._levers[key], self._now(key), kb)

    def _options(self, key: FactKey) -> list[_Class]:
        if key not in self._known:
            self._known[key] = _classes(self._trial, key, self._now(key), self._steps(key))
        return self._known[key]


def _missing(book: CompiledBook, goal: Goal) -> Value | None:
    """Return the value of a fact that no rule concluded: no, for a yes/no fact."""
    missing = book.refs[goal.key].missing
    return missing if isinstance(missing, bool) else None


class _Allowed:
    """Refuses what the screen would answer by taking more out of the plan."""

    def __init__(self, run: Run, levels: tuple[str, ...]) -> None:
        self._levels = levels
        self._withheld = left_out({k: f.value for k, f in run.facts.items()})
        level = run.facts.get(LEVEL_FACT)
        self._level = self._rank(level.value if level else None)

    def permits(self, facts: CaseFacts) -> bool:
        """Tell whether nothing more is withheld and the level is no higher than now."""
        now = facts.values
        return left_out(now) <= self._withheld and self._rank(now.get(LEVEL_FACT)) <= self._level

    def _rank(self, value: Value | None) -> int:
        return self._levels.index(value) if value in self._levels else -1


def _in_order(options: Sequence[Sequence[_Class]]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Yield every combination once, cheapest first; ties in the order of levers and values.

    A combination is reached from the one with one step less at its last changed place, which is
    never dearer, so nothing cheaper can come later.
    """
    start = (0,) * len(options)
    queue: list[tuple[float, int, tuple[int, ...]]] = [(0.0, 0, start)]
    while queue:
        cost, _, picks = heapq.heappop(queue)
        yield cost, picks
        last = max((place for place, pick in enumerate(picks) if pick), default=0)
        for place in range(last, len(options)):
            if picks[place] + 1 < len(options[place]):
                following = (*picks[:place], picks[place] + 1, *picks[place + 1 :])
                price = sum(options[p][pick].cost for p, pick in enumerate(following))
                changed = sum(1 for pick in following if pick)
                heapq.heappush(queue, (round(price, 9), changed, following))


def _classes(trial: Trial, key: FactKey, now: Value, found: Sequence[Step]) -> list[_Class]:
    """Return one value for each group that no rule on the way can tell apart; the present first."""
    groups: dict[Any, list[Step]] = {}
    for step in (Step(now, 0.0), *found):
        groups.setdefault(_mark(trial, key, step.value), []).append(step)
    classes = []
    for members in groups.values():
        first = members[0]
        alike = tuple(each.value for each in members[1:] if each.cost == first.cost)
        classes.append(_Class(first.value, first.cost, alike))
    return classes


def _mark(trial: Trial, key: FactKey, value: Value) -> Any:
    """Return all that the rest of the way can notice of one answer's value.

    What only this answer moves is worked out; of it counts what rules moved by other answers too
    make of it: whether their clauses hold, and the bare values that enter comparisons with moved
    facts or conclusions.
    """
    own = frozenset({key})
    try:
        facts = trial.facts({key: value})
    except EngineFault:
        return "refused", str(value)
    noticed: list[Any] = []
    for fork in (each for level in trial.forks for each in level if key in each.moved_by):
        if fork.moved_by == own:
            if any(trial.moved_by[c.key] != own for c in fork.bound.conclusions):
                noticed.append(trial.conclusions(fork, facts))
        else:
            noticed.extend(_noticed(trial, fork, own, facts))
    ends = [k for k, by in trial.moved_by.items() if by == own and trial.is_target(k)]
    noticed.extend((k, facts.values.get(k)) for k in ends)
    return tuple(noticed)


def _noticed(trial: Trial, fork: Fork, own: frozenset[FactKey], facts: CaseFacts) -> Iterator[Any]:
    """Yield what a rule that other answers move as well notices of this one."""
    bare: set[FactKey] = set()
    for clause in fork.bound.clauses():
        moved = {
            r.key: trial.moved_by[r.key] for r in clause.facts_read() if r.key in trial.moved_by
        }
        if moved and all(by == own for by in moved.values()):
            yield read_clause(clause, facts).holds
        else:
            bare.update(k for k, by in moved.items() if by == own)
    for conclusion in fork.bound.conclusions:
        bare.update(r.key for r in conclusion.facts_read() if trial.moved_by.get(r.key) == own)
    for key in sorted(bare):
        yield facts.values.get(key), facts.ranges.get(key)
