"""A client's own data: every answer, each to be put right; all of it to take along; and the way out."""

import json
from dataclasses import replace
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from starlette.responses import RedirectResponse, Response

from assistant.exchange.portable import case_json, portable
from assistant.intake.dialogue import Dialogue, replay, start
from assistant.intake.events import Confirmed
from assistant.intake.form import form_of
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.records.export import export
from assistant.report.calendar import Diary, calendar_entries
from assistant.report.ics import Heading, events, ics_bytes
from assistant.web import pin
from assistant.web.client.intake import draft_of
from assistant.web.client.own import mark_of, own
from assistant.web.dialogues import rows_of
from assistant.web.visit import NotHere, Visit

# Names of files say nothing about what is in them: they lie among everybody's downloads.
_ALL, _CASE, _DAYS = "notes.json", "notes-case.json", "days.ics"


@cache
def zones() -> tuple[str, ...]:
    """Return the names of places by which a time zone is chosen."""
    return (
        "UTC",
        *sorted(name for name in available_timezones() if "/" in name and name[:4] != "Etc/"),
    )


def data(visit: Visit, status: int = 200, problem: str = "") -> Response:
    """Show all answers, and what can be done with them."""
    dialogue = _answered(visit)
    narrator, unseen = visit.person.narrator("client"), visit.words.told("web_kept_unseen")
    # What is left out of the plan is no figure to read here either; it is handed over as it is.
    rows = [
        replace(
            row,
            answer=unseen if narrator.hides(row.fact) else row.answer,
            number=mark_of(row.fact),
        )
        for row in rows_of(visit, dialogue)
    ]
    return visit.show(
        "client/data.html",
        status,
        here="/me/data",
        rows=rows,
        has_pin=pin.has_pin(visit.serving.folder),
        word=visit.words.say("web_delete_word"),
        problem=problem,
    )


def _answered(visit: Visit) -> Dialogue:
    """Return the first questions with the answers that stand."""
    form = form_of(visit.kb, visit.desk.on)
    first = start(form, "self", visit.serving.units)
    answers, asked = visit.person.case.answers, {slot.fact for slot in form.slots}
    kept = [
        Confirmed(fact, value)
        for fact, value in answers.items()
        if fact in asked and fact not in SESSION_ONLY_FACTS
    ]
    return replay(first, kept)


def everything(visit: Visit) -> Response:
    """Hand over everything that is held, as it is held."""
    return _file(export(visit.records, visit.client), _ALL)


def case(visit: Visit) -> Response:
    """Hand over what stands, as a case file that the commands read."""
    held = visit.person.case
    return _file(case_json(held, portable(held, with_name=True, whole=True)), _CASE)


def _file(held: Any, name: str) -> Response:
    text = json.dumps(held, ensure_ascii=False, indent=2) + "\n"
    return Response(text, media_type="application/json", headers=_named(name))


def _named(name: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{name}"'}


def calendar(visit: Visit) -> Response:
    """Hand over the days of the plan as a calendar file."""
    zone = visit.asked("zone") or "UTC"
    if zone not in zones():
        raise NotHere
    mine = own(visit)
    heading = Heading(
        mine.narrator.kb.calendar.name.to("client").replace("{client}", mine.plan.case_name),
        visit.client.token,
        visit.desk.on,
        ZoneInfo(zone),
    )
    made = events(calendar_entries(mine.plan, mine.narrator, Diary()), heading)
    if not made:
        return visit.go("/me/plan", visit.words.say("web_no_calendar"))
    return Response(ics_bytes(made, heading), media_type="text/calendar", headers=_named(_DAYS))


def delete(visit: Visit) -> Response:
    """Forget the client, once the word is typed: record, draft and PIN, and every open session."""
    if visit.sent("word").casefold() != visit.words.say("web_delete_word").casefold():
        return data(visit, 400, problem="web_delete_wrong")
    client, folder = visit.client, visit.serving.folder
    visit.desk.forget(visit.records, client)
    visit.serving.worked_out.clear()
    if visit.serving.alone:
        draft_of(folder).unlink(missing_ok=True)
        pin.set_pin(folder, "")
    visit.sessions.end_of_client(client.token)
    visit.sessions.end_of_client(visit.here.client)
    visit.sessions.end(visit.cookie)
    answer = RedirectResponse("/closed", 303)
    answer.headers["clear-site-data"] = '"cache", "cookies", "storage"'
    return answer
