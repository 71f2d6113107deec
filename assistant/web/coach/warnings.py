"""Warnings: a person's decision about one, and the note for whoever is asked to look."""

import datetime as dt
from dataclasses import dataclass

from starlette.responses import Response

from assistant.casefiles.decisions import Kind
from assistant.clients import deciding
from assistant.clients.person import Person
from assistant.model.errors import InputProblems, Problem
from assistant.model.values import as_json, split_key
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator
from assistant.plan.special import decided_about, shown_flags
from assistant.plan.views import flag_records
from assistant.report.referral import referral_note
from assistant.web.coach.forms import by_of, mark_of, marked
from assistant.web.visit import Visit

_LONGEST = {"set_aside": "decision.set_aside_weeks", "cleared": "decision.clearance_weeks"}
_WORDS = {"set_aside": "Set aside for a while", "cleared": "Cleared by a professional"}


@dataclass(frozen=True)
class Way:
    """One way to decide about a flag. last: the last day it may count. seen: what was to be seen, in words."""

    kind: Kind
    title: str
    roles: list[tuple[str, str]]
    last: dt.date
    seen: list[tuple[str, str]]


@dataclass(frozen=True)
class Open:
    """A flag in force. decided: how it is decided already, or empty."""

    id: str
    title: str
    severity: str
    says: str
    decided: str
    ways: list[Way]


def referral(visit: Visit) -> Response:
    """Show the note for a professional, to be printed."""
    narrator = visit.person.narrator("coach", imperial=visit.is_imperial)
    note = referral_note(narrator, visit.person.case.name)
    is_limited = bool(flag_records(narrator.kb, narrator.run))
    return visit.show("coach/referral.html", note=note, is_limited=is_limited)


def decide(visit: Visit) -> Response:
    """Keep a decision with who, as what and why."""
    kind, flag = visit.sent("kind"), visit.sent("flag")
    # A professional's word stands under the professional's name, whoever writes it down.
    by = visit.sent("by") if kind == "cleared" else by_of(visit)
    if kind not in _LONGEST:
        text = f"`{kind[:40]}` is no decision; allowed: {', '.join(_LONGEST)}"
        raise InputProblems([Problem("Decision", "bad-value", text)])
    ticked, reason = visit.form.get("seen", []), visit.sent("reason")

    def decided(now: Person) -> deciding.Decisions:
        answers = deciding.to_be_seen(now, flag)
        seen = {key: as_json(answers[key]) for key in ticked if key in answers}
        decision = deciding.decision_of(
            now,
            "set_aside" if kind == "set_aside" else "cleared",
            flag,
            by=by,
            reason=reason,
            role=visit.sent("role"),
            until=visit.sent("until"),
            seen=seen if kind == "cleared" else None,
        )
        return (*now.case.decisions, decision)

    version = deciding.keep(visit.desk, visit.records, visit.client.handle, decided, by, reason)
    return _kept(visit, version.number, version.digest["level"])


def withdraw(visit: Visit) -> Response:
    """Take a decision back, with who and why."""
    decision = marked(visit, visit.person.case.decisions)
    version = deciding.keep(
        visit.desk,
        visit.records,
        visit.client.handle,
        lambda now: deciding.without(now, decision),
        by_of(visit),
        visit.sent("reason"),
    )
    return _kept(visit, version.number, version.digest["level"])


def _kept(visit: Visit, number: int, level: str) -> Response:
    here = f"/desk/c/{visit.client.token}/decide"
    return visit.go(here, f"Kept: version {number} of the plan. Screen: {level}.")


def show(visit: Visit) -> Response:
    """Show every warning in force, who may decide what about it, and what is decided."""
    narrator = visit.person.narrator("coach", imperial=visit.is_imperial)
    kb = visit.desk.kb
    decided = [
        (mark_of(each), sentence_case(kb.flags[each.flag].area), each, each.in_force(visit.desk.on))
        for each in visit.person.case.decisions
        if each.flag in kb.flags
    ]
    return visit.show(
        "coach/decide.html",
        flags=[_open(visit, record, narrator) for record in shown_flags(narrator)],
        decided=decided,
        label=narrator.phrases.label,
    )


def _open(visit: Visit, record: dict[str, str], narrator: Narrator) -> Open:
    flag = visit.desk.kb.flags[record["id"]]
    roles: dict[Kind, list[str]] = {}
    if flag.set_aside is not None:
        roles["set_aside"] = list(narrator.kb.screen_words.deciding.coach_roles)
    if flag.cleared is not None:
        roles["cleared"] = list(flag.cleared.by)
    return Open(
        flag.id,
        sentence_case(flag.area),
        record["severity"],
        flag.to("coach"),
        decided_about(narrator.run, flag.id) or "",
        [_way(visit, kind, flag.id, names, narrator) for kind, names in roles.items()],
    )


def _way(visit: Visit, kind: Kind, flag: str, roles: list[str], narrator: Narrator) -> Way:
    on = visit.desk.on
    weeks = visit.desk.kb.parameter_value(_LONGEST[kind], on).value
    label = narrator.phrases.label
    seen = []
    if kind == "cleared":
        for key, value in deciding.to_be_seen(visit.person, flag).items():
            said = visit.desk.kb.facts[split_key(key)[0]].label
            if not narrator.hides(key):
                said = f"{said}: {narrator.phrases.value(key, value)}"
            seen.append((key, said))
    named = [(role, label(role)) for role in roles]
    return Way(kind, _WORDS[kind], named, on + dt.timedelta(weeks=weeks), seen)
