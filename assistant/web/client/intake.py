"""The first questions: every confirmed answer is in the draft before the next page is shown."""

import math
from contextlib import AbstractContextManager
from pathlib import Path

from starlette.responses import Response

from assistant.clients.adding import added
from assistant.intake import dialogue as d
from assistant.intake.drafts import Draft, Header
from assistant.intake.form import form_of
from assistant.intake.reading import minutes_left
from assistant.model.case import Case
from assistant.records.store import LONGEST_NAME, is_name
from assistant.web.asked import last_question
from assistant.web.client import asking
from assistant.web.dialogues import (
    Held,
    opened,
    question_page,
    rows_of,
    taken,
    thrown_away,
    told_page,
)
from assistant.web.visit import NotHere, Visit

ASK, REVIEW, LAST = "/me/ask", "/me/answers", "/me/last"


def draft_of(folder: Path) -> Path:
    """Return where the draft of the first questions lies."""
    return folder / "intake.jsonl"


def only_before(visit: Visit) -> None:
    """Refuse where these pages are not for one who begins. Raises NotHere."""
    if not visit.serving.alone or visit.records.clients():
        raise NotHere


def welcome(visit: Visit, name: str = "", problem: str = "") -> Response:
    """Show what this is, and where to begin or go on."""
    first = d.start(form_of(visit.kb, visit.desk.on), "self")
    minutes = math.ceil(minutes_left(first) / _WHOLE) * _WHOLE
    return visit.show(
        "client/welcome.html",
        400 if problem else 200,
        minutes=minutes,
        began=draft_of(visit.serving.folder).is_file(),
        name=name,
        problem=problem,
        longest=LONGEST_NAME,
    )


# Minutes are told in whole fives: more would claim to know how fast somebody reads.
_WHOLE = 5


def begin(visit: Visit) -> Response:
    """Begin, or begin again: the draft that was there is gone then."""
    only_before(visit)
    name = visit.sent("name") or visit.words.say("web_me")
    if not is_name(name):
        return welcome(visit, visit.sent("name"), "web_name_form")
    thrown_away(visit, draft_of(visit.serving.folder))
    with _opened(visit, name):
        return visit.go(ASK)


def ask(visit: Visit) -> Response:
    """Show the question where it stands."""
    only_before(visit)
    if not draft_of(visit.serving.folder).is_file():
        return visit.go("/me")
    with _opened(visit) as (_, held):
        if held.told:
            return told_page(visit, "client/told.html", held, ASK)
        if held.dialogue.in_review:
            return visit.go(REVIEW)
        return question_page(visit, "client/ask.html", held, ASK)


def answer(visit: Visit) -> Response:
    """Keep an answer, or say what is wrong with it."""
    only_before(visit)
    if not draft_of(visit.serving.folder).is_file():
        return visit.go("/me")
    with _opened(visit) as (draft, held):
        done = taken(visit, draft, held)
        if done.said is not None:
            return question_page(visit, "client/ask.html", held, ASK, done.said)
        return visit.go(ASK, done.notice)


def answers(visit: Visit) -> Response:
    """Show all answers, each with a way to its question."""
    only_before(visit)
    with _opened(visit) as (_, held):
        if not held.is_complete:
            held.to_first_open()
            return visit.go(ASK)
        return visit.show("client/answers.html", rows=rows_of(visit, held.dialogue), then=LAST)


def edit(visit: Visit) -> Response:
    """Go from the list of answers to one question."""
    only_before(visit)
    with _opened(visit) as (_, held):
        return visit.go(ASK if held.to_number(visit.sent("number")) else REVIEW)


def last(visit: Visit) -> Response:
    """Ask the question whose answer is kept nowhere, as the last thing."""
    only_before(visit)
    with _opened(visit) as (_, held):
        if not held.is_complete:
            return visit.go(REVIEW)
        if last_question(held.dialogue) is None:
            return visit.show("client/ready.html", action=LAST)
        return asking.last_page(visit, held.dialogue, LAST)


def finish(visit: Visit) -> Response:
    """End the questions: a yes to the last one is answered on the spot, else the plan is made."""
    only_before(visit)
    with _opened(visit) as (draft, held):
        if not held.is_complete:
            return visit.go(REVIEW)
        crisis = asking.crisis(visit, held.dialogue)
        if crisis is not None:
            return crisis
        case = Case(held.name, visit.desk.on, held.kept)
        added(visit.desk, visit.records, held.name, case)
        draft.remove()
    return visit.go("/me")


def safe(visit: Visit) -> Response:
    """Show what comes next on the page after a yes. What was pressed is kept nowhere."""
    slots = form_of(visit.kb, visit.desk.on).slots
    slot = next((each for each in slots if each.crisis), None)
    if slot is None:
        raise NotHere
    page = slot.crisis["self"]
    said = page.safe if visit.sent("safe") == "yes" else page.not_safe
    rest = [row for row in page.page[2:] if row not in {page.safe, page.not_safe}]
    return visit.show("client/crisis.html", rows=(said, *rest), asks=False)


def _opened(visit: Visit, name: str = "") -> AbstractContextManager[tuple[Draft, Held]]:
    """Open the draft, and give it with where the dialogue stands."""
    header = Header(name or visit.words.say("web_me"), "self", visit.serving.units)
    return opened(visit, draft_of(visit.serving.folder), header)
