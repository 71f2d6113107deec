"""What leaves the desk: the message to a client, the calendar file, all that is held; and new measures in."""

import dataclasses
import json

from starlette.responses import Response

from assistant.casefiles.cases import case_of
from assistant.clients.answers import answered_anew, measured_anew, newly_measured
from assistant.clients.aside import aside_words
from assistant.clients.reviewing import accepting_of_the_day
from assistant.clients.when import time_of, zone_of
from assistant.knowledge.strict_yaml import parse_text
from assistant.model.errors import InputProblems
from assistant.plan.language import ENGLISH, localised, localised_run, read_language
from assistant.records.export import export
from assistant.report.calendar import Diary, calendar_entries
from assistant.report.ics import Heading, events, ics_bytes
from assistant.report.message_text import message_text
from assistant.web.coach.forms import by_of, missing, number_of
from assistant.web.refusals import told
from assistant.web.visit import Visit


def message(visit: Visit) -> Response:
    """Show the message to the client after a review, to be copied."""
    code = visit.asked("language") or visit.serving.language
    person = visit.person
    rows: tuple[str, ...] = ()
    done = accepting_of_the_day(person)
    if done is not None:
        away = next((a.kind for a in person.case.week.away if a.covers(visit.desk.on)), None)
        try:
            rows = message_text(
                person.planner,
                person.case.name,
                done,
                away,
                code,
                imperial=visit.is_imperial,
            )
        except InputProblems as wrong:
            visit.wrong = told(wrong)
    return visit.show("coach/message.html", rows=rows, languages=_languages(visit), code=code)


def everything(visit: Visit) -> Response:
    """Give everything held about a client as a file."""
    text = json.dumps(export(visit.records, visit.client), ensure_ascii=False, indent=2) + "\n"
    return _attached(text.encode(), "application/json", "record.json")


def measures(visit: Visit) -> Response:
    """Show what was measured lately and is not in the plan yet."""
    narrator = visit.person.narrator("coach", imperial=visit.is_imperial)
    phrases, answers = narrator.phrases, visit.person.case.answers
    rows = [
        f"{visit.desk.kb.facts[fact].label}: {phrases.value(fact, answers[fact])} → {phrases.value(fact, value)}"
        for fact, value in newly_measured(visit.person).items()
        if not narrator.hides(fact)
    ]
    return visit.show("coach/measures.html", rows=rows)


def take_in(visit: Visit) -> Response:
    """Make the plan again: with new measures, or with the answers of a case file."""
    here = f"/desk/c/{visit.client.token}"
    if visit.sent("do") == "answers":
        text = visit.sent("answers")
        if not text:
            raise missing("Answers", "paste the text of a case file")
        case = case_of(parse_text(text, "Answers", plain_dates=True), visit.desk.kb)
        if case.is_aside:
            return visit.show("coach/aside.html", said=aside_words(visit.desk.kb, "coach"))
        version = answered_anew(visit.desk, visit.records, visit.client, case, by_of(visit))
        return visit.go(here, f"The answers are taken in: version {version.number} of the plan.")
    version, changed = measured_anew(visit.desk, visit.records, visit.client, by_of(visit))
    labels = ", ".join(visit.desk.kb.facts[fact].label for fact in changed)
    took = (
        f" Measured lately, so it takes the place of the older answer: {labels}." if labels else ""
    )
    return visit.go(here, f"Version {version.number} of the plan.{took}")


def calendar(visit: Visit) -> Response:
    """Show what a calendar file asks for."""
    return visit.show("coach/calendar.html", languages=_languages(visit))


def _languages(visit: Visit) -> list[tuple[str, str]]:
    return [(each.language, each.name) for each in visit.desk.kb.languages.values()]


def calendar_file(visit: Visit) -> Response:
    """Give the plan's days as a calendar file."""
    person, kb = visit.person, visit.desk.kb
    language = read_language(kb, visit.sent("language") or ENGLISH)
    speaker = dataclasses.replace(person.planner, kb=localised(kb, language))
    run = localised_run(person.run(), language)
    narrator = speaker.narrator(run, "client", imperial=visit.is_imperial)
    week = person.week(run)
    programme = None
    if week is not None:
        programme = person.with_next_loads(week.programme, week.request, run)
    plan = dataclasses.replace(
        speaker.plan(person.case, narrator, programme), place=person.place(narrator)
    )
    zone = zone_of(visit.sent("timezone") or None)
    diary = Diary(time_of(visit.sent("time") or None), number_of(visit, "weeks"))
    name = narrator.kb.calendar.name.to("client").replace("{client}", plan.case_name)
    heading = Heading(name, plan.case_name, narrator.on, zone)
    made = events(calendar_entries(plan, narrator, diary), heading)
    if not made:
        raise missing(
            "Calendar", "the plan is withheld, so there is nothing to put in; the plan says why"
        )
    return _attached(ics_bytes(made, heading), "text/calendar", "days.ics")


def _attached(data: bytes, kind: str, name: str) -> Response:
    """Return a file. Its name tells nothing of whom it is about."""
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=f"{kind}; charset=utf-8", headers=headers)
