"""Decisions in a case file: cautions a coach sets aside, flags a professional has cleared.

Which flags may be set aside or cleared is written in the rules: a flag's consequences name the
decision as an excuse, or they do not. A stop never does, so nothing here can lift one.
"""

import datetime as dt
from typing import Any, Literal

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Decision
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase

_WORDS = ("by", "reason", "since", "until")
_FACTS = {"set_aside": "context.set_aside_flags", "cleared": "context.cleared_flags"}
_LONGEST = {"set_aside": "decision.set_aside_weeks", "cleared": "decision.clearance_weeks"}


def read_decisions(
    raw: Any, kb: KnowledgeBase, parsed: Parsed, problems: list[Problem]
) -> tuple[Decision, ...]:
    """Return the decisions of a case; what is wrong is added to `problems`."""
    if not isinstance(raw, list):
        text = f"`decisions` is `{shown(raw)}`; allowed: a list of decisions"
        problems.append(Problem(parsed.place("decisions"), "bad-type", text))
        return ()
    found = []
    for number, item in enumerate(raw):
        try:
            found.append(_decision(item, kb))
        except _Refused as refusal:
            place = parsed.place("decisions", number)
            problems.append(Problem(place, refusal.code, refusal.text))
    return tuple(found)


class _Refused(Exception):
    def __init__(self, code: str, text: str) -> None:
        super().__init__(text)
        self.code = code
        self.text = text


def _decision(item: Any, kb: KnowledgeBase) -> Decision:
    if not isinstance(item, dict):
        raise _Refused("bad-type", f"a decision is a mapping, not `{shown(item)}`")
    kinds = [kind for kind in _FACTS if kind in item]
    unknown = [name for name in item if name not in (*_FACTS, *_WORDS)]
    if len(kinds) != 1 or unknown:
        wrong = f"`{unknown[0]}` is no part of it" if unknown else "it names none or both"
        text = (
            f"a decision has `set_aside: FLAG` or `cleared: FLAG`, and {', '.join(_WORDS)}; {wrong}"
        )
        raise _Refused("bad-decision", text)
    kind: Literal["set_aside", "cleared"] = "set_aside" if "set_aside" in item else "cleared"
    flag = item[kind]
    _check_flag(kind, flag, kb)
    for name in ("by", "reason"):
        if not isinstance(item.get(name), str) or not item[name].strip():
            raise _Refused("missing-field", f"a decision needs `{name}` in words")
    start, end = _day(item, "since"), _day(item, "until")
    longest = kb.parameter_value(_LONGEST[kind], start).value
    if not start <= end <= start + dt.timedelta(weeks=longest):
        text = f"`until` is {end.isoformat()}; allowed: from `since` to {longest:g} weeks later"
        raise _Refused("bad-value", text)
    return Decision(kind, flag, item["by"], item["reason"], start, end)


def _check_flag(kind: str, flag: object, kb: KnowledgeBase) -> None:
    flags = kb.book.domains["flag"]
    if not isinstance(flag, str) or flag not in flags:
        raise _Refused(
            "unknown-flag", f"`{shown(flag)}` is no flag{did_you_mean(str(flag), flags, '')}"
        )
    excusable = any(
        clause.fact == _FACTS[kind] and clause.has == flag
        for rule in kb.rules.values()
        for clause in rule.excused_by
    )
    if not excusable:
        text = {
            "set_aside": f"`{flag}` is not a caution a coach may set aside; follow its referral",
            "cleared": f"`{flag}` is not lifted by a clearance; the professional's own plan is followed",
        }[kind]
        raise _Refused("not-liftable", text)


def _day(item: dict[str, Any], name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(item[name])
    except (KeyError, TypeError, ValueError):
        text = f"`{name}` is `{shown(item.get(name))}`; allowed: a day such as 2026-01-31"
        raise _Refused("bad-value", text) from None
