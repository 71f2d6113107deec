"""Times away in the `week` part of a case file: travel, holidays, illness."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.model.away import AWAY_KINDS, Away
from assistant.model.errors import Problem, Refused
from assistant.model.knowledge import KnowledgeBase

_FIELDS = ("kind", "since", "until", "equipment")


def read_away(
    raw: Any, kb: KnowledgeBase, parsed: Parsed, problems: list[Problem]
) -> tuple[Away, ...]:
    """Return the times away of a case in order of days; what is wrong is added to `problems`."""
    if not isinstance(raw, list):
        text = f"`away` is `{shown(raw)}`; allowed: a list of times away"
        problems.append(Problem(parsed.place("week", "away"), "bad-type", text))
        return ()
    found: list[Away] = []
    for number, item in enumerate(raw):
        try:
            found.append(apart(away_of(item, kb), found))
        except Refused as refusal:
            place = parsed.place("week", "away", number)
            problems.append(Problem(place, refusal.code, refusal.text))
    return tuple(sorted(found, key=lambda each: each.since))


def away_of(item: Any, kb: KnowledgeBase) -> Away:
    """Return one time away from plain data. Raises Refused."""
    if not isinstance(item, dict):
        raise Refused("bad-type", f"a time away is a mapping, not `{shown(item)}`")
    for name in item:
        if name not in _FIELDS:
            hint = did_you_mean(str(name), _FIELDS, f"; fields: {', '.join(_FIELDS)}")
            raise Refused("unknown-field", f"`{shown(name)}` is no part of a time away{hint}")
    kind = item.get("kind")
    if kind not in AWAY_KINDS:
        raise Refused("bad-value", f"`kind` is `{shown(kind)}`; allowed: {', '.join(AWAY_KINDS)}")
    since, until = _day(item, "since"), _day(item, "until")
    longest = int(kb.parameter_value("away.longest_days", since).value)
    if not since <= until < since + dt.timedelta(days=longest):
        text = f"`until` is {until.isoformat()}; allowed: from `since` on, {longest} days at most"
        raise Refused("bad-value", text)
    return Away(kind, since, until, _equipment(item.get("equipment", []), kind, kb))


def apart(away: Away, others: Iterable[Away]) -> Away:
    """Return a time away that meets no other. Raises Refused."""
    for other in others:
        if away.since <= other.until and other.since <= away.until:
            days = f"{other.since.isoformat()} to {other.until.isoformat()}"
            text = f"{other.kind} from {days} is told already; give each day once"
            raise Refused("bad-value", text)
    return away


def _day(item: dict[str, Any], name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(str(item.get(name)))
    except ValueError:
        text = f"`{name}` is `{shown(item.get(name))}`; allowed: a day such as 2026-03-02"
        raise Refused("bad-value", text) from None


def _equipment(raw: Any, kind: str, kb: KnowledgeBase) -> tuple[str, ...]:
    known = kb.book.choices_of(kb.facts["client.equipment"])
    if not isinstance(raw, list):
        raise Refused("bad-type", f"`equipment` is `{shown(raw)}`; allowed: a list of kit")
    if raw and kind != "travel":
        raise Refused("bad-value", f"`equipment` goes with travel; leave it out for `{kind}`")
    for piece in raw:
        if piece not in known:
            hint = did_you_mean(str(piece), known, f"; allowed: {', '.join(known)}")
            raise Refused("bad-value", f"`{shown(piece)}` is no kit{hint}")
    return tuple(raw)
