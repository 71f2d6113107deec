"""Changes by hand in a case file: which line of the plan, to what, by whom, why, and since when.

Which lines may be changed stands in `rules/overrides.yaml`. Whether a change holds on a day is told by
the plan of that day (`assistant/plan/by_hand.py`); here it is read.
"""

import datetime as dt
from typing import Any

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Override
from assistant.model.errors import Problem, Refused
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import split_key

_NEEDED = ("line", "to", "by", "reason", "since")
_FIELDS = (*_NEEDED, "until")


def read_overrides(
    raw: Any, kb: KnowledgeBase, parsed: Parsed, problems: list[Problem], *, kept: bool = False
) -> tuple[Override, ...]:
    """Return the changes by hand of a case; what is wrong is added to `problems`.

    kept: their reasons were taken when they were made, or are still to be asked for.
    """
    if not isinstance(raw, list):
        text = f"`overrides` is `{shown(raw)}`; allowed: a list of changes by hand"
        problems.append(Problem(parsed.place("overrides"), "bad-type", text))
        return ()
    found = []
    for number, item in enumerate(raw):
        try:
            made = _override(item, kb)
            if not kept:
                check_reason(made.reason, kb)
            found.append(made)
        except Refused as refused:
            problems.append(Problem(parsed.place("overrides", number), refused.code, refused.text))
    return tuple(found)


def check_reason(reason: str, kb: KnowledgeBase) -> None:
    """Raise Refused for a reason that tells nobody why."""
    reasons = kb.overrides.reasons
    if not reasons.tells(reason):
        raise Refused("empty-reason", f"`reason` is `{shown(reason)}`; {reasons.wanted}")


def _override(item: Any, kb: KnowledgeBase) -> Override:
    if not isinstance(item, dict):
        raise Refused("bad-type", f"a change by hand is a mapping, not `{shown(item)}`")
    unknown = [name for name in item if name not in _FIELDS]
    missing = [name for name in _NEEDED if name not in item]
    if unknown or missing:
        wrong = f"`{unknown[0]}` is no part of it" if unknown else f"`{missing[0]}` is missing"
        raise Refused("bad-override", f"a change by hand has {', '.join(_FIELDS)}; {wrong}")
    line = _line(item["line"], kb)
    to = item["to"]
    if isinstance(to, bool) or not isinstance(to, int | float | str):
        raise Refused("bad-type", f"`to` is `{shown(to)}`; allowed: a number, a choice or a day")
    for name in ("by", "reason"):
        if not isinstance(item[name], str) or not item[name].strip():
            raise Refused("missing-field", f"a change by hand needs `{name}` in words")
    since = _day(item, "since")
    until = _day(item, "until") if item.get("until") is not None else None
    if until is not None and until < since:
        text = f"`until` is {until.isoformat()}; allowed: from `since`, {since.isoformat()}, on"
        raise Refused("bad-value", text)
    value = to if isinstance(to, str) else float(to)
    return Override(line, value, item["by"], item["reason"], since, until)


def _line(name: Any, kb: KnowledgeBase) -> str:
    """Return a line that may be changed, with an element its fact knows."""
    limits = kb.overrides.lines
    line, element = split_key(str(name))
    if not isinstance(name, str) or line not in limits:
        hint = did_you_mean(str(name), limits, f"; allowed: {', '.join(limits) or 'none'}")
        raise Refused("not-changeable", f"`{shown(name)}` is no line a coach may change{hint}")
    index = kb.facts[split_key(limits[line].fact)[0]].index
    elements = kb.book.domains.get(index or "", ())
    if (element is None) != (index is None) or (index is not None and element not in elements):
        allowed = f"`{line}[{elements[0]}]`, for one {index}" if elements else f"`{line}`"
        raise Refused("unknown-element", f"`{name}` names no line; write {allowed}")
    return name


def _day(item: dict[str, Any], name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(item[name])
    except (TypeError, ValueError):
        text = f"`{name}` is `{shown(item[name])}`; allowed: a day such as 2026-01-31"
        raise Refused("bad-value", text) from None
