"""What a history says about questions: asked after a pain, who is still to be seen, when answered."""

import datetime as dt
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from assistant.model.facts import DAYS_IN, FactDeclaration
from assistant.model.history import OpenReferral, Pain, Seen
from assistant.model.values import Status, Value
from assistant.records.chain import ANSWERS, ENTRY, PLAN, Line

# How an answer to "did you see them?" is kept; only the last closes a referral.
SEEN_VALUES: Mapping[float, Seen] = {0.0: "no", 0.5: "not yet", 1.0: "yes"}
_NOBODY = '"referrals":[]'
_CLEAR: tuple[Any, ...] = (False, [], Status.NONE.value, Status.NOT_APPLICABLE.value)


def answered_on(lines: Iterable[Line], fact: str) -> dt.date | None:
    """Return the last day a fact was answered; None where it never was."""
    said = [
        line.said_on
        for line in lines
        if line.kind == ANSWERS and fact in json.loads(line.body)["answers"]
    ]
    return max(said, default=None)


def aged(
    answers: Mapping[str, Value],
    lines: Iterable[Line],
    facts: Iterable[FactDeclaration],
    on: dt.date,
) -> dict[str, Value]:
    """Return answers in which a time since something has grown by the days since it was told."""
    found, listed = dict(answers), list(lines)
    for fact in facts:
        value, told = found.get(fact.id), answered_on(listed, fact.id) if fact.ages else None
        if told is not None and isinstance(value, float):
            found[fact.id] = value + (on - told).days / DAYS_IN[fact.unit]
    return found


def taken_back(lines: Iterable[Line], facts: Collection[str], since: dt.date) -> bool:
    """Tell whether one of these was told and then cleared on a later day, from `since` on.

    What is put right on the day it was told is a slip.
    """
    told: dict[str, dt.date] = {}
    for line in lines:
        given = json.loads(line.body)["answers"] if line.kind == ANSWERS else {}
        for fact in set(given) & set(facts):
            if given[fact] in (*_CLEAR, "never"):
                before = told.pop(fact, line.said_on)
                if before < line.said_on and line.said_on >= since:
                    return True
            elif given[fact] not in (Status.UNKNOWN.value, Status.DECLINED.value):
                told[fact] = line.said_on
    return False


def pains_asked(
    pains: Sequence[Pain], lines: Iterable[Line], urgent: Collection[str]
) -> tuple[Pain, ...]:
    """Return pains with whether the questions about urgent signs were answered clear after them.

    Every question counts by its last answer, and the answer must have been said after the pain.
    """
    told: dict[tuple[dt.date, str], int] = {}
    answers: dict[str, tuple[int, bool]] = {}
    for place, line in enumerate(lines):
        if line.kind == ENTRY and line.measure == "pain":
            told[line.day, line.detail] = place
        elif line.kind == ANSWERS:
            given = json.loads(line.body)["answers"]
            for fact in set(given) & set(urgent):
                answers[fact] = (place, given[fact] in _CLEAR)
    last = [answers.get(fact, (-1, False)) for fact in urgent]
    clear_from = min((place if clear else -1 for place, clear in last), default=-1)
    return tuple(
        replace(pain, asked_clear=told.get((pain.day, pain.joint), 0) < clear_from)
        for pain in pains
    )


@dataclass
class _Open:
    """How the referral to one role stands while lines are read."""

    since: dt.date | None = None
    answer: Seen | None = None
    asked_on: dt.date | None = None
    reasons: frozenset[str] = frozenset()


class Referrals:
    """Who is still to be seen, while a record is read from its first line on.

    A referral stays open until it is told that they were seen, and opens again for another reason.
    """

    def __init__(self) -> None:
        """Begin with nobody; `seen` are those that were, each time one was."""
        self._roles: dict[str, _Open] = {}
        self.seen: list[OpenReferral] = []

    def asked(self, day: dt.date, made: Mapping[str, frozenset[str]]) -> None:
        """Take in whom a plan asks the client to see, with the reasons by role."""
        for role, reasons in made.items():
            one = self._roles.get(role)
            if one is None or (one.since is None and reasons - one.reasons):
                self._roles[role] = _Open(since=day, reasons=reasons)
            else:
                one.reasons |= reasons if one.since is not None else frozenset()
        for role, one in self._roles.items():
            # A reason that is gone may come again, and then it is a new one.
            if one.since is None:
                one.reasons &= made.get(role, frozenset())

    def told(self, day: dt.date, role: str, value: float | None) -> None:
        """Take in an answer to "did you see them?"."""
        one = self._roles.get(role)
        if one is None or one.since is None or day < one.since or value is None:
            return
        one.answer, one.asked_on = SEEN_VALUES.get(value), day
        if one.answer == "yes":
            self.seen.append(OpenReferral(role, one.since, one.answer, day))
            one.since = None

    def open(self) -> tuple[OpenReferral, ...]:
        """Return those not seen yet, in order of role."""
        return tuple(
            OpenReferral(role, one.since, one.answer, one.asked_on)
            for role, one in sorted(self._roles.items())
            if one.since is not None
        )


def asks_for_somebody(line: Line) -> bool:
    """Tell whether a line is a plan that asks the client to see somebody.

    Most ask for nobody; reading them whole to know it would cost a look at all clients the most.
    """
    return line.kind == PLAN and '"referrals":' in line.body and _NOBODY not in line.body


def open_referrals(lines: Iterable[Line], until: dt.date) -> tuple[OpenReferral, ...]:
    """Return those whom the client was asked to see by a kept plan and has not seen."""
    return referrals_told(lines, until).open()


def referrals_told(lines: Iterable[Line], until: dt.date) -> Referrals:
    """Return what became of those whom the client was asked to see."""
    listed = [line for line in lines if line.day <= until]
    # Of two lines about one day the later stands, so a slip can be put right.
    stands = {
        (line.detail, line.day): place
        for place, line in enumerate(listed)
        if line.kind == ENTRY and line.measure == "referral"
    }
    referrals = Referrals()
    for place, line in enumerate(listed):
        if line.kind == PLAN:
            made = json.loads(line.body)["referrals"] if asks_for_somebody(line) else ()
            referrals.asked(line.day, {each["to"]: frozenset(each.get("for", ())) for each in made})
        elif line.measure == "referral" and stands.get((line.detail, line.day)) == place:
            referrals.told(line.day, line.detail, line.value)
    return referrals


def raised_since(lines: Iterable[Line], plan: Mapping[str, Any]) -> dict[str, dt.date]:
    """Return since when each flag of the plan kept last stands, over the plans kept without a break."""
    flags = {flag["id"] for flag in plan.get("flags", ())}
    since: dict[str, dt.date] = {}
    for line in sorted(
        (line for line in lines if line.kind == PLAN and flags), key=lambda line: -line.number
    ):
        raised = {flag["id"] for flag in json.loads(line.body).get("flags", ())}
        flags &= raised
        since |= dict.fromkeys(flags, line.day)
        if not flags:
            break
    return since
