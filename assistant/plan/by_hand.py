"""A coach's change of a line by hand: what may be changed and how far, and which changes hold on a day.

The lines and their limits stand in rules/overrides.yaml. Nothing lifts a stop, and a line that was left
out has nothing to change: only what stands in the coach's own plan can be named.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from assistant.engine.lookup import WITHHELD_FACTS
from assistant.knowledge.values import read_value
from assistant.model.case import Override
from assistant.model.derivation import Run, day_in, word_in
from assistant.model.documents.overrides import OverrideLimit
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Status, Value, split_key
from assistant.plan.visibility import visible_conclusions, withheld_outputs

_Bound = tuple[str, float | str]


class Shown(Protocol):
    """A conclusion of a plan, with its range if it has one."""

    @property
    def value(self) -> Value: ...  # noqa: D102 - said above
    @property
    def low(self) -> float | None: ...  # noqa: D102 - said above
    @property
    def high(self) -> float | None: ...  # noqa: D102 - said above


@dataclass(frozen=True)
class Ground:
    """What a change is held against: what a plan shows its coach and leaves out, its level and day (ISO)."""

    facts: Mapping[FactKey, Shown]
    withheld: frozenset[str]
    level: str
    day: str


def ground_of(kb: KnowledgeBase, run: Run, on: dt.date) -> Ground:
    """Return what changes of a run's plan are held against: where one was made, what the rules say."""
    shown: dict[FactKey, Any] = {
        key: fact if fact.ruled is None else replace(fact, value=fact.ruled)
        for key, fact in visible_conclusions(kb, run, "coach").items()
    }
    level = word_in(run.facts, "screen.level", "none")
    return Ground(shown, withheld_outputs(run), level, on.isoformat())


def limit_of(line: str, kb: KnowledgeBase) -> OverrideLimit:
    """Return how far a line may be changed. Raises InputProblems for one that may not be."""
    limits = kb.overrides.lines
    limit = limits.get(split_key(line)[0])
    if limit is None:
        text = f"`{line}` is not a line a coach may change; allowed: {', '.join(limits) or 'none'}"
        raise _refused("--line", "not-changeable", text)
    return limit


def fact_of(line: str, kb: KnowledgeBase) -> FactKey:
    """Return the fact that a line is about. Raises InputProblems for a line that may not be changed."""
    return _keyed(limit_of(line, kb).fact, line)


@dataclass(frozen=True)
class Room:
    """How far a line may be changed: its fact, what it says now, and bounds with the name of their origin."""

    fact: FactKey
    value: Value
    low: Sequence[_Bound]
    high: Sequence[_Bound]

    @property
    def span(self) -> tuple[float | str | None, float | str | None]:
        """The least and the most the new value may be; None where nothing bounds it."""
        lows, highs = ([bound for _, bound in each] for each in (self.low, self.high))
        return (max(lows, default=None), min(highs, default=None))


def room_for(line: str, ground: Ground, kb: KnowledgeBase) -> Room:
    """Return how far a line may be changed. Raises InputProblems where it may not be."""
    if ground.level == "stop":
        text = "the plan is a stop; nothing lifts it, so nothing in it can be changed"
        raise _refused("override", "stopped", text)
    limit = limit_of(line, kb)
    held = [output for output in limit.closed_while if output in ground.withheld]
    if held:
        text = f"`{line}` stays as it is while the screen withholds {', '.join(held)}; follow the referral"
        raise _refused("--line", "withheld", text)
    _refuse_with_care(line, limit, ground, kb)
    fact = _keyed(limit.fact, line)
    shown = _shown(ground, fact)
    is_day = kb.facts[split_key(fact)[0]].type is FactType.DATE
    return Room(fact, shown.value, *_bounds(ground, limit, line, shown, is_day=is_day))


def checked_change(
    line: str, to: float | str, ground: Ground, kb: KnowledgeBase
) -> tuple[FactKey, float | str]:
    """Return the fact a change is about and its new value. Raises InputProblems where it is not allowed."""
    room = room_for(line, ground, kb)
    value = value_of(to, room.fact, kb)
    _check_bounds(value, (room.low, room.high), kb, room.fact)
    return room.fact, value


def _refuse_with_care(line: str, limit: OverrideLimit, ground: Ground, kb: KnowledgeBase) -> None:
    """Refuse a line whose own range moves with what the screen finds, while the screen asks for care."""
    levels = kb.facts["screen.level"].choices
    if limit.closed_from is None or levels.index(ground.level) < levels.index(limit.closed_from):
        return
    text = f"`{line}` follows the rules while the screen says {ground.level}; an edit of the week may take sets out"
    raise _refused("--line", "withheld", text)


def value_of(typed: float | str, fact: FactKey, kb: KnowledgeBase) -> float | str:
    """Return a new value as the fact's type has it. Raises InputProblems."""
    declaration = kb.facts[split_key(fact)[0]]
    raw: Any = typed.strip() if isinstance(typed, str) else typed
    if declaration.type in {FactType.NUMBER, FactType.INTEGER}:
        try:
            raw = float(raw)
        except ValueError:
            raise _refused("--to", "bad-type", f"`{typed}` is not a number") from None
    try:
        value = read_value(declaration, kb.book, raw)
    except Refused as refused:
        raise _refused("--to", refused.code, f"`{fact}` {refused.text}") from None
    if isinstance(value, Status | bool | tuple):
        raise _refused("--to", "bad-value", f"`{typed}` is no value to plan with")
    return value


def with_overrides(
    kb: KnowledgeBase,
    on: dt.date,
    overrides: Iterable[Override],
    run_with: Callable[[Mapping[FactKey, Value]], Run],
) -> Run:
    """Return the run with the changes that hold on a day; the others are named in it and change nothing.

    run_with: runs the same case with values set by hand. Whether a change holds is told by the run
    without any. None holds where together they would move what the screen says, or a limit.
    """
    plain = run = run_with({})
    held = standing_changes(overrides, kb, on)
    aside: list[tuple[Override, str]] = []
    # A change may move the limit of another, so those that hold alone must hold together, too.
    while held:
        values, refused = _holding(held, run, kb, on)
        aside += refused
        if not refused and run is not plain:
            by_hand = dict(zip(values, held, strict=True))
            return replace(run, by_hand=by_hand, set_aside=tuple(aside))
        gone = [change for change, _ in refused]
        held = [change for change in held if change not in gone]
        if held:
            run = run_with(values)
            if _guarded(kb, plain) != _guarded(kb, run):
                why = "together the changes would move what the screen says, or a limit"
                aside += [(change, why) for change in held]
                break
    return replace(plain, set_aside=tuple(aside))


def _holding(
    changes: Iterable[Override], run: Run, kb: KnowledgeBase, on: dt.date
) -> tuple[dict[FactKey, Value], list[tuple[Override, str]]]:
    """Return the values of the changes that a run allows, in order, and the others with the reason."""
    ground = ground_of(kb, run, on)
    values: dict[FactKey, Value] = {}
    refused: list[tuple[Override, str]] = []
    for change in changes:
        try:
            _refuse_ended(change, run, kb)
            fact, value = checked_change(change.line, change.to, ground, kb)
        except InputProblems as problems:
            refused.append((change, problems.problems[0].text))
        else:
            values[fact] = value
    return values, refused


def standing_changes(
    overrides: Iterable[Override], kb: KnowledgeBase, on: dt.date
) -> list[Override]:
    """Return the changes in force on a day, the last one of each line, of lines the book has."""
    latest: dict[str, Override] = {}
    for change in overrides:
        if change.in_force(on) and split_key(change.line)[0] in kb.overrides.lines:
            latest.pop(change.line, None)
            latest[change.line] = change
    return list(latest.values())


def _refuse_ended(change: Override, run: Run, kb: KnowledgeBase) -> None:
    """Refuse a change that something agreed later took the place of."""
    ends_with = limit_of(change.line, kb).ends_with
    day = day_in(run.facts, ends_with) if ends_with is not None else None
    if day is not None and change.since < day:
        text = f"`{change.line}` was agreed anew on {day}, which ends the change of {change.since}"
        raise _refused("--line", "ended", text)


def _guarded(kb: KnowledgeBase, run: Run) -> dict[FactKey, object]:
    """Return all that no change by hand may move: the screen, what is left out, limits of lines."""
    lines = kb.overrides.lines.values()
    limits = {split_key(name)[0] for each in lines for name in (*each.at_least, *each.at_most)}
    # What is a line itself may be moved by another: looking again follows the block.
    limits -= {split_key(each.fact)[0] for each in lines}
    guarded = {*WITHHELD_FACTS, *limits, "training.limits"}
    return {
        key: (fact.value, fact.low, fact.high)
        for key, fact in run.facts.items()
        if key.startswith("screen.") or split_key(key)[0] in guarded
    }


def _refused(place: str, code: str, text: str) -> InputProblems:
    return InputProblems([Problem(place, code, text)])


def _keyed(name: str, line: str) -> FactKey:
    """Put the line's element where a limit says `[element]`."""
    _, element = split_key(line)
    return name if element is None else name.replace("[element]", f"[{element}]")


def _shown(ground: Ground, key: FactKey) -> Shown:
    shown = ground.facts.get(key)
    if shown is None:
        text = f"the plan gives no `{key}` to hold the new value against, so it cannot be changed"
        raise _refused("--line", "no-limit", text)
    return shown


def _bounds(
    ground: Ground, limit: OverrideLimit, line: str, shown: Shown, *, is_day: bool
) -> tuple[list[_Bound], list[_Bound]]:
    """Return what the value may not be below and not above, each with the name of its origin."""

    def of(names: Sequence[str]) -> list[_Bound]:
        found = []
        for name in names:
            key = _keyed(name, line)
            value = _shown(ground, key).value
            assert isinstance(value, float | int | str), "a limit is a number or a day"
            found.append((key, value))
        return found

    low, high = of(limit.at_least), of(limit.at_most)
    if limit.own_range:
        if shown.low is None or shown.high is None:
            text = f"the plan gives no range for `{line}`, so it cannot be changed"
            raise _refused("--line", "no-limit", text)
        low.append(("the plan's own range", shown.low))
        high.append(("the plan's own range", shown.high))
    if is_day:
        low.append(("the day of the plan", ground.day))
    return low, high


def _check_bounds(
    value: float | str,
    bounds: tuple[Sequence[_Bound], Sequence[_Bound]],
    kb: KnowledgeBase,
    fact: FactKey,
) -> None:
    unit = kb.facts[split_key(fact)[0]].unit
    for (name, bound), is_low in [
        *((b, True) for b in bounds[0]),
        *((b, False) for b in bounds[1]),
    ]:
        outside = _less(value, bound) if is_low else _less(bound, value)
        if outside:
            edge = "less" if is_low else "more"
            limit = bound if isinstance(bound, str) else f"{bound:g} {unit}"
            text = f"not {edge} than {limit} ({name}); whoever disagrees changes the rule, not one plan"
            raise _refused("--to", "out-of-range", text)


def _less(one: float | str, other: float | str) -> bool:
    """Compare two numbers, or two days as ISO text."""
    if isinstance(one, str) or isinstance(other, str):
        return str(one) < str(other)
    return one < other
