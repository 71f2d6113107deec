"""Decisions in a case file: cautions a coach sets aside, flags a professional has cleared.

Which flags may be decided about, and by whom, stands in the flag's document (`cleared`, `set_aside`)
and in `rules/flags.yaml` (`deciding`). A stop has neither, so nothing here can lift one.
"""

import datetime as dt
from typing import Any, Literal, TypeAlias

from assistant.casefiles.overrides import check_reason
from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.values import read_value
from assistant.model.case import Decision
from assistant.model.documents.flags import Flag
from assistant.model.errors import Problem, Refused
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value, split_key

Kind: TypeAlias = Literal["set_aside", "cleared"]
_WORDS = ("role", "by", "reason", "seen", "since", "until")
_LONGEST = {"set_aside": "decision.set_aside_weeks", "cleared": "decision.clearance_weeks"}


def read_decisions(
    raw: Any,
    kb: KnowledgeBase,
    parsed: Parsed,
    problems: list[Problem],
    *,
    client: str = "",
    kept: bool = False,
) -> tuple[Decision, ...]:
    """Return the decisions of a case; what is wrong is added to `problems`.

    client: the client's name; a client decides about no flag. kept: they come from a record, where
    one that was written before roles and `seen` were asked for is read, and counts for nothing.
    """
    if not isinstance(raw, list):
        text = f"`decisions` is `{shown(raw)}`; allowed: a list of decisions"
        problems.append(Problem(parsed.place("decisions"), "bad-type", text))
        return ()
    found = []
    for number, item in enumerate(raw):
        try:
            decision = _decision(item, kb, client, kept=kept)
            if not kept:
                check_reason(decision.reason, kb)
            found.append(decision)
        except Refused as refusal:
            place = parsed.place("decisions", number)
            problems.append(Problem(place, refusal.code, refusal.text))
    return tuple(found)


def _decision(item: Any, kb: KnowledgeBase, client: str, *, kept: bool) -> Decision:
    if not isinstance(item, dict):
        raise Refused("bad-type", f"a decision is a mapping, not `{shown(item)}`")
    kinds = [kind for kind in _LONGEST if kind in item]
    unknown = [name for name in item if name not in (*_LONGEST, *_WORDS)]
    if len(kinds) != 1 or unknown:
        wrong = f"`{unknown[0]}` is no part of it" if unknown else "it names none or both"
        text = (
            f"a decision has `set_aside: FLAG` or `cleared: FLAG`, and {', '.join(_WORDS)}; {wrong}"
        )
        raise Refused("bad-decision", text)
    kind: Kind = "set_aside" if "set_aside" in item else "cleared"
    flag = _flag(kind, item[kind], kb)
    for name in ("by", "reason"):
        if not isinstance(item.get(name), str) or not item[name].strip():
            raise Refused("missing-field", f"a decision needs `{name}` in words")
    _person(item["by"], client, kb)
    is_old = kept and "role" not in item
    role = "" if is_old else _role(kind, flag, item.get("role"), kb)
    # A coach may say what was told when a caution was set aside; a clearance must.
    needs_no_seen = is_old or (kind == "set_aside" and "seen" not in item)
    seen = None if needs_no_seen else _seen(item.get("seen"), kb)
    start, end = _day(item, "since"), _day(item, "until")
    longest = _longest(kind, start, kb)
    if not start <= end <= start + dt.timedelta(weeks=longest):
        text = f"`until` is {end.isoformat()}; allowed: from `since` to {longest:g} weeks later"
        raise Refused("bad-value", text)
    return Decision(kind, flag.id, item["by"], item["reason"], start, end, role, seen)


def _flag(kind: Kind, name: object, kb: KnowledgeBase) -> Flag:
    flag = kb.flags.get(name) if isinstance(name, str) else None
    if flag is None:
        hint = did_you_mean(str(name), kb.flags, "")
        raise Refused("unknown-flag", f"`{shown(name)}` is no flag{hint}")
    if getattr(flag, kind) is None:
        text = {
            "set_aside": f"`{flag.id}` is not a caution a coach may set aside; follow its referral",
            "cleared": f"`{flag.id}` is not lifted by a clearance; the professional's own plan is followed",
        }[kind]
        raise Refused("not-liftable", text)
    return flag


def _person(by: str, client: str, kb: KnowledgeBase) -> None:
    said = by.strip().strip(".").casefold()
    if said in kb.screen_words.deciding.not_a_person or (
        client and said == client.strip().casefold()
    ):
        text = f"`by` is `{shown(by)}`; allowed: the name or title of the person who decided, not the client"
        raise Refused("bad-value", text)


def _role(kind: Kind, flag: Flag, role: object, kb: KnowledgeBase) -> str:
    allowed = kb.screen_words.deciding.coach_roles
    if kind == "cleared":
        assert flag.cleared is not None  # `_flag` saw to it
        allowed = flag.cleared.by
    if isinstance(role, str) and role in allowed:
        return role
    wrong = "is missing" if role is None else f"is `{shown(role)}`"
    text = f"`role` {wrong}; who may decide this about `{flag.id}`: {', '.join(allowed)}"
    raise Refused("bad-role", text)


def _seen(raw: object, kb: KnowledgeBase) -> dict[str, Value]:
    """The answers the professional saw; what they do not name was not there."""
    if not isinstance(raw, dict):
        text = "a clearance needs `seen`, the answers the professional saw, e.g. seen: {screen.bp_systolic: 165}"
        raise Refused("missing-field", text)
    seen: dict[str, Value] = {}
    for name, value in raw.items():
        fact, _ = split_key(str(name))
        declaration = None if fact in SESSION_ONLY_FACTS else kb.facts.get(fact)
        if declaration is None or declaration.origin not in {"answer", "record"}:
            hint = did_you_mean(str(name), kb.facts)
            raise Refused("unknown-fact", f"`seen`: `{shown(name)}` is no answer{hint}")
        try:
            seen[str(name)] = read_value(declaration, kb.book, value)
        except Refused as refused:
            raise Refused(refused.code, f"`seen`: `{name}` {refused.text}") from None
    return dict(sorted(seen.items()))


def _longest(kind: Kind, start: dt.date, kb: KnowledgeBase) -> float:
    name = _LONGEST[kind]
    dated = kb.parameters[name].in_force(start)
    if dated is None:
        first = min(value.since for value in kb.parameters[name].values)
        text = f"`since` is {start.isoformat()}; the rule book begins on {first.isoformat()}"
        raise Refused("bad-value", text)
    return kb.parameter_value(name, start).value


def _day(item: dict[str, Any], name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(item[name])
    except (KeyError, TypeError, ValueError):
        text = f"`{name}` is `{shown(item.get(name))}`; allowed: a day such as 2026-01-31"
        raise Refused("bad-value", text) from None
