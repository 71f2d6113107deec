"""A coach's change of a line: allowed where rules/overrides.yaml says so, written down with its reason.

Nothing lifts a stop, and a line that was left out has nothing to change: only what stands in the
coach's own plan can be named.
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.audit.entry import FORMAT, DecisionEntry, Entry, FactShown, OverrideEntry
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.values import read_value
from assistant.model.chain import plain
from assistant.model.documents.overrides import OverrideLimit
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value, split_key

LONGEST_TEXT = 500


@dataclass(frozen=True)
class Wish:
    """What a coach asks for: a line of a decision, its new value as typed, by whom and why."""

    line: str
    to: str
    by: str
    reason: str


def override_body(
    entry: DecisionEntry, wish: Wish, kb: KnowledgeBase, written: dt.datetime
) -> dict[str, Any]:
    """Return a change of a decision, ready to be sealed. Raises InputProblems where it is not allowed."""
    _check_words(wish)
    _refuse_under_stop(entry)
    line = entry.outcome.lines.get(wish.line)
    if line is None:
        near = did_you_mean(wish.line, entry.outcome.lines, "; `whyplan log show` lists its lines")
        text = f"decision {entry.sequence} has no line `{wish.line}`; what is left out cannot be changed{near}"
        raise _refused("--line", "unknown-line", text)
    limit = _limit_of(wish.line, kb.overrides.lines)
    _refuse_while_closed(entry, wish.line, limit)
    fact = _keyed(limit.fact, wish.line)
    shown = _fact_of(entry, fact)
    value = _value(wish.to, fact, kb)
    is_day = kb.facts[split_key(fact)[0]].type is FactType.DATE
    bounds = _bounds(entry, limit, wish.line, shown, is_day=is_day)
    _check_bounds(value, bounds, kb, fact)
    return {
        "format": FORMAT,
        "kind": "override",
        "written": written.isoformat(timespec="seconds"),
        "decision": entry.sequence,
        "decision_id": entry.id,
        "line": wish.line,
        "fact": fact,
        "rule": line.rule,
        "was": plain(shown.value),
        "to": plain(value),
        "by": " ".join(wish.by.split()),
        "reason": " ".join(wish.reason.split()),
    }


@dataclass(frozen=True)
class OftenOverridden:
    """A rule and how often its conclusion was changed by hand: times changed, decisions it fired in."""

    rule: str
    changed: int
    fired: int
    reasons: tuple[str, ...]


def often_overridden(entries: Iterable[Entry]) -> tuple[OftenOverridden, ...]:
    """Return the rules whose lines were changed, the most often changed first.

    Two changes of one line of one decision count once: the later one replaces the earlier.
    """
    latest: dict[tuple[int, str], OverrideEntry] = {}
    fired: Counter[str] = Counter()
    for entry in entries:
        if isinstance(entry, OverrideEntry):
            latest[entry.decision, entry.line] = entry
        else:
            fired.update({name.partition("[")[0] for name in entry.outcome.fired})
    by_rule: dict[str, list[OverrideEntry]] = {}
    for change in latest.values():
        by_rule.setdefault(change.rule, []).append(change)
    found = [
        OftenOverridden(
            rule,
            len({change.decision for change in changes}),
            fired[rule],
            tuple(dict.fromkeys(change.reason for change in changes)),
        )
        for rule, changes in by_rule.items()
    ]
    return tuple(sorted(found, key=lambda row: (-row.changed, row.rule)))


def _refused(place: str, code: str, text: str) -> InputProblems:
    return InputProblems([Problem(place, code, text)])


def _check_words(wish: Wish) -> None:
    for place, text in (("--by", wish.by), ("--reason", wish.reason)):
        if not text.strip() or len(text) > LONGEST_TEXT or not text.isprintable():
            wrong = f"allowed: one line of 1 to {LONGEST_TEXT} printable characters; a change needs its reason"
            raise _refused(place, "bad-text", wrong)


def _refuse_under_stop(entry: DecisionEntry) -> None:
    if entry.outcome.level == "stop":
        text = f"decision {entry.sequence} is a stop; nothing lifts it, so nothing in it can be changed"
        raise _refused("override", "stopped", text)


def _limit_of(line: str, limits: Mapping[str, OverrideLimit]) -> OverrideLimit:
    limit = limits.get(split_key(line)[0])
    if limit is None:
        text = f"`{line}` is not a line a coach may change; allowed: {', '.join(limits) or 'none'}"
        raise _refused("--line", "not-changeable", text)
    return limit


def _refuse_while_closed(entry: DecisionEntry, line: str, limit: OverrideLimit) -> None:
    held = [output for output in limit.closed_while if output in entry.outcome.withheld]
    if held:
        text = f"`{line}` stays as it is while the screen withholds {', '.join(held)}; follow the referral"
        raise _refused("--line", "withheld", text)


def _keyed(name: str, line: str) -> str:
    """Put the line's element where a limit says `[element]`."""
    _, element = split_key(line)
    return name if element is None else name.replace("[element]", f"[{element}]")


def _fact_of(entry: DecisionEntry, key: str) -> FactShown:
    shown = entry.outcome.facts.get(key)
    if shown is None:
        text = f"the plan gives no `{key}` to hold the new value against, so it cannot be changed"
        raise _refused("--line", "no-limit", text)
    return shown


def _value(typed: str, fact: str, kb: KnowledgeBase) -> Value:
    declaration = kb.facts[split_key(fact)[0]]
    raw: Any = typed.strip()
    if declaration.type in {FactType.NUMBER, FactType.INTEGER}:
        try:
            raw = float(raw)
        except ValueError:
            raise _refused("--to", "bad-type", f"`{typed}` is not a number") from None
    try:
        value = read_value(declaration, kb.book, raw)
    except Refused as refused:
        raise _refused("--to", refused.code, f"`{fact}` {refused.text}") from None
    if isinstance(value, Status):
        raise _refused("--to", "bad-value", f"`{typed}` is no value to plan with")
    return value


_Bound = tuple[str, float | str]


def _bounds(
    entry: DecisionEntry, limit: OverrideLimit, line: str, shown: FactShown, *, is_day: bool
) -> tuple[list[_Bound], list[_Bound]]:
    """Return what the value may not be below and not above, each with the name of its origin."""

    def of(names: Sequence[str]) -> list[_Bound]:
        found = []
        for name in names:
            key = _keyed(name, line)
            value = _fact_of(entry, key).value
            assert isinstance(value, float | str), "a limit is a number or a day"
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
        low.append(("the day of the plan", entry.as_of))
    return low, high


def _check_bounds(
    value: Value, bounds: tuple[list[_Bound], list[_Bound]], kb: KnowledgeBase, fact: str
) -> None:
    unit = kb.facts[split_key(fact)[0]].unit
    for (name, bound), is_low in [(b, True) for b in bounds[0]] + [(b, False) for b in bounds[1]]:
        assert isinstance(value, float | str)
        outside = _less(value, bound) if is_low else _less(bound, value)
        if outside:
            edge = "less" if is_low else "more"
            limit = f"{bound:g} {unit}" if isinstance(bound, float) else bound
            text = f"not {edge} than {limit} ({name}); whoever disagrees changes the rule, not one plan"
            raise _refused("--to", "out-of-range", text)


def _less(one: float | str, other: float | str) -> bool:
    """Compare two numbers, or two days as ISO text."""
    if isinstance(one, str) or isinstance(other, str):
        return str(one) < str(other)
    return one < other
