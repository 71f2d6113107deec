"""Travel, a holiday or an illness told for a client: kept, listed, taken back."""

import dataclasses
import datetime as dt
from collections.abc import Callable, Sequence

from assistant.casefiles.away import apart, away_of
from assistant.clients.desk import Desk
from assistant.clients.kept import Why, told_anew
from assistant.clients.person import Person
from assistant.model.away import Away
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.version import Version
from assistant.records.chain import NewLine
from assistant.records.store import Records


def kept_away(
    desk: Desk,
    records: Records,
    name: str,
    *,
    kind: str,
    since: str,
    until: str = "",
    equipment: Sequence[str] = (),
    by: str = "",
) -> Version:
    """Keep a time away; one that begins on the same day gives way to it. Raises InputProblems."""
    plain: dict[str, object] = {"kind": kind, "since": since, "until": until or since}
    if equipment:
        plain["equipment"] = list(equipment)

    def after(told: tuple[Away, ...]) -> tuple[Away, tuple[Away, ...]]:
        try:
            away = away_of(plain, desk.kb)
            others = tuple(each for each in told if each.since != away.since)
            return away, (*others, apart(away, others))
        except Refused as refusal:
            raise InputProblems([refusal.at("time away")]) from None

    return _keep(desk, records, name, after, by)


def taken_back(desk: Desk, records: Records, name: str, since: dt.date, by: str = "") -> Version:
    """Take back the time away that begins on a day. Raises InputProblems."""

    def after(told: tuple[Away, ...]) -> tuple[Away, tuple[Away, ...]]:
        gone = next((each for each in told if each.since == since), None)
        if gone is None:
            days = ", ".join(each.since.isoformat() for each in told) or "none is told"
            text = f"no time away begins on {since.isoformat()}; they begin on: {days}"
            raise InputProblems([Problem("--since", "unknown-day", text)])
        return gone, tuple(each for each in told if each != gone)

    return _keep(desk, records, name, after, by)


def _keep(
    desk: Desk,
    records: Records,
    name: str,
    after: Callable[[tuple[Away, ...]], tuple[Away, tuple[Away, ...]]],
    by: str,
) -> Version:
    def lines(now: Person) -> tuple[NewLine, ...]:
        about, away = after(now.case.week.away)
        away = tuple(sorted(away, key=lambda each: each.since))
        wishes = dataclasses.replace(now.case.week, away=away)
        why = Why("away", by, f"{about.kind} from {about.since.isoformat()}")
        return told_anew(now, why, week=wishes)

    return desk.keep(records, name, lines)
