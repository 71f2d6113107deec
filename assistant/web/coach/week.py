"""The week changed by hand: its lines, what a change costs, then kept with who and why, or taken back."""

import contextlib
from typing import get_args

from starlette.responses import Response

from assistant.clients.changing import Change, keep_change
from assistant.clients.edit_meant import Typed, allowed_in_week, edit_meant
from assistant.clients.edits import rearranged
from assistant.clients.instead import week_to_change
from assistant.clients.week import WeekNow
from assistant.model.documents.exercises import Exercise
from assistant.model.errors import InputProblems, Problem
from assistant.model.programme import Line, Session
from assistant.model.wishes import EditKind, WeekEdit
from assistant.programme.by_hand import edit_words
from assistant.report.week_account import edit_price_points
from assistant.report.week_text import dose, load, session_title
from assistant.web.coach.forms import by_of, mark_of, marked, number_of, why_of
from assistant.web.visit import NotHere, Visit


def line(visit: Visit) -> Response:
    """Show what can be changed about one line, by its day and its place."""
    _, session, of = _line_of(visit)
    return _line_shown(visit, session, of)


def more(visit: Visit) -> Response:
    """Show what can be added on a day."""
    session = _session_of(visit, _now(visit))
    return _line_shown(visit, session, None)


def _now(visit: Visit) -> WeekNow:
    now = week_to_change(visit.person)
    if now is None:
        raise NotHere
    return now


def _session_of(visit: Visit, now: WeekNow) -> Session:
    sessions = {session.day: session for session in now.programme.sessions}
    if visit.path["day"] not in sessions:
        raise NotHere
    return sessions[visit.path["day"]]


def _line_of(visit: Visit) -> tuple[WeekNow, Session, Line]:
    now = _now(visit)
    session = _session_of(visit, now)
    found = next((x for x in session.lines if str(x.order) == visit.path["place"]), None)
    if found is None:
        raise NotHere
    return now, session, found


def _line_shown(visit: Visit, session: Session, of: Line | None) -> Response:
    now = _now(visit)
    planner, phrases = visit.person.planner, visit.words.phrases
    allowed = allowed_in_week(planner, now, session.day)
    stands = {each.exercise for each in session.lines}
    like = planner.catalogue.exercises[of.exercise].pattern if of is not None else ""
    others = [each for each in allowed if each.id not in stands]
    grouped = _grouped(visit, sorted(others, key=lambda each: each.pattern != like))
    days = [(day, phrases.label(day)) for day in now.programme.day_types]
    return visit.show(
        "coach/line.html",
        trained=session,
        day=phrases.label(session.day),
        line=of,
        dose="" if of is None else dose(of, phrases, "coach"),
        load="" if of is None else load(of, phrases),
        others=grouped,
        days=[each for each in days if each[0] != session.day],
        places=[(str(n), n) for n in range(1, len(session.lines) + 1)],
    )


def _grouped(visit: Visit, exercises: list[Exercise]) -> list[tuple[str, list[Exercise]]]:
    """Return exercises under what they do, in the order in which they come."""
    groups: dict[str, list[Exercise]] = {}
    for each in exercises:
        groups.setdefault(visit.words.phrases.label(each.pattern), []).append(each)
    return list(groups.items())


def _change_of(visit: Visit, now: WeekNow) -> Change:
    """Return the change that the form means. Raises InputProblems."""
    if visit.sent("mark"):
        return Change(marked(visit, visit.person.case.week.edits), withdrawn=True)
    kind = visit.sent("kind")
    if kind not in get_args(EditKind):
        text = f"`{kind[:40]}` is no change of a week; allowed: {', '.join(get_args(EditKind))}"
        raise InputProblems([Problem("Change", "bad-value", text)])
    typed = Typed(
        visit.sent("exercise"),
        other=visit.sent("other"),
        days=tuple(day for day in visit.form.get("days", []) if day),
        to=visit.sent("to") or None,
        number=number_of(visit, "number"),
        low=number_of(visit, "low"),
        high=number_of(visit, "high"),
        sets=number_of(visit, "sets"),
        by=by_of(visit),
        reason=visit.sent("reason"),
    )
    return Change(edit_meant(kind, typed, visit.person.planner, now))  # type: ignore[arg-type]


def price(visit: Visit) -> Response:
    """Show what a change costs; nothing is kept yet."""
    now = _now(visit)
    change = _change_of(visit, now)
    person, phrases = visit.person, visit.words.phrases
    after = change.week(person, now)
    is_anew = visit.sent("repair") == "yes"
    # Arranging the rest anew takes seconds, so it is done for who asks.
    shown = rearranged(person.planner, after) if is_anew else after
    sent = {name: values for name, values in visit.form.items() if name not in _OWN}
    return visit.show(
        "coach/price.html",
        said=change.words(person.planner),
        is_anew=is_anew,
        costs=edit_price_points(now.programme, shown.programme, phrases),
        minutes=_minutes(visit, now, shown),
        sent=[(name, value) for name, values in sent.items() for value in values],
    )


# What the page that shows the price asks for itself.
_OWN = {"by", "reason", "repair"}


def _minutes(visit: Visit, before: WeekNow, after: WeekNow) -> list[str]:
    """Return on which days the session becomes longer or shorter, in words."""
    was = {session.day: session.minutes for session in before.programme.sessions}
    rows = []
    for session in after.programme.sessions:
        one, other = round(was.get(session.day, 0)), round(session.minutes)
        if one != other:
            name = visit.words.phrases.label(session.day)
            rows.append(f"{name}: {one} to {other} minutes of {session.minutes_allowed}")
    return rows


def price_again(visit: Visit) -> Response:
    """Show the price again where it can be shown, else the week."""
    with contextlib.suppress(InputProblems):
        return price(visit)
    return show(visit)


def keep(visit: Visit) -> Response:
    """Keep a change that was priced, with who and why."""
    change = _change_of(visit, _now(visit))
    why = why_of(visit, "edit")
    version = keep_change(
        visit.desk,
        visit.records,
        visit.client.handle,
        change,
        why,
        repair=visit.sent("repair") == "yes",
    )
    here = f"/desk/c/{visit.client.token}/week"
    return visit.go(here, f"Kept: version {version.number} of the plan.")


def show(visit: Visit) -> Response:
    """Show the usual week, and what is changed of it by hand."""
    person, phrases = visit.person, visit.words.phrases
    now = week_to_change(person)
    waits = [] if now is None else [x.why for x in now.programme.unmet if x.kind == "edit"]
    return visit.show(
        "coach/week.html",
        sessions=[] if now is None else _sessions(now, visit),
        edits=[(mark_of(each), _words(each, visit), each) for each in person.case.week.edits],
        waits=waits,
        today=person.case.week.away
        and next((a for a in person.case.week.away if a.covers(visit.desk.on)), None),
        lighter=person.easier_until,
        label=phrases.label,
    )


def _sessions(now: WeekNow, visit: Visit) -> list[tuple[Session, str, list[tuple[Line, str, str]]]]:
    phrases = visit.words.phrases
    return [
        (
            session,
            session_title(session, phrases),
            [(each, dose(each, phrases, "coach"), load(each, phrases)) for each in session.lines],
        )
        for session in now.programme.sessions
    ]


def _words(edit: WeekEdit, visit: Visit) -> str:
    return edit_words(edit, visit.person.planner.catalogue.exercises)
