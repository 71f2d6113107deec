"""The check-in asked beside a client: every confirmed answer is in the record before the next page is shown."""

import datetime as dt
from dataclasses import dataclass

from starlette.responses import Response

from assistant.clients.aside import aside_words
from assistant.clients.checkin import CheckinSession, Ended
from assistant.intake.dialogue import Ending
from assistant.web.asked import in_place, is_yes, last_question
from assistant.web.dialogues import Held, Said, question_page, rows_of, taken, told_page
from assistant.web.visit import Visit

_HELD = "checkin"


@dataclass(kw_only=True)
class _Round(Held):
    """One round of questions of a client's check-in, and where it stands."""

    client: str
    on: dt.date
    session: CheckinSession


def ask(visit: Visit) -> Response:
    """Show the question where the check-in stands."""
    now = _round(visit)
    if not now.dialogue.form.slots:
        return visit.show("coach/nothing_to_ask.html")
    if now.told:
        return told_page(visit, "coach/told.html", now, _here(visit))
    if now.dialogue.in_review:
        return visit.go(f"{_here(visit)}/end")
    return _question(visit, now)


def answer(visit: Visit) -> Response:
    """Keep an answer in the record, or say what is wrong with it."""
    now = _round(visit)
    done = taken(visit, now.session, now)
    if done.said is not None:
        return _question(visit, now, done.said)
    return visit.go(_here(visit), done.notice)


def end(visit: Visit) -> Response:
    """Show what was said today, and ask the last question where it is due."""
    now = _round(visit)
    if not now.is_complete:
        now.to_first_open()
        return visit.go(_here(visit))
    slot = last_question(now.dialogue)
    return visit.show(
        "coach/checkin_end.html",
        rows=rows_of(visit, now.dialogue),
        slot=slot,
        closing="" if slot is None else slot.closing("coach"),
        here=_here(visit),
    )


def edit(visit: Visit) -> Response:
    """Go from what was said to one question."""
    there = _round(visit).to_number(visit.sent("number"))
    return visit.go(_here(visit) if there else f"{_here(visit)}/end")


def finish(visit: Visit) -> Response:
    """End the check-in: what was told makes a new version where it must; further questions follow at once."""
    now = _round(visit)
    if not now.is_complete:
        return visit.go(_here(visit))
    if is_yes(visit.form) and last_question(now.dialogue) is not None:
        # What was confirmed before is kept; nothing is made of it today.
        return visit.show("coach/aside.html", said=aside_words(visit.desk.kb, "coach"))
    done = now.session.ended(now.dialogue, Ending.FINISHED)
    more = now.session.follow_up()
    visit.here.held.pop(_HELD, None)
    if more is not None:
        visit.here.held[_HELD] = _round_of(visit, more)
        return visit.go(_here(visit), "What was told today asks for a few more questions.")
    if done.not_made is not None:
        why = done.not_made.problems[0].text
        return visit.go(_client(visit), f"Kept; the plan is not made again: {why}")
    return visit.go(_client(visit), _told(done))


def not_kept(visit: Visit) -> Response:
    """Say why an answer was not kept, and begin at what the record holds now."""
    visit.here.held.pop(_HELD, None)
    return visit.show("coach/not_kept.html", 409, here=_here(visit))


def _told(done: Ended) -> str:
    kept = f"{done.kept} line{'' if done.kept == 1 else 's'} of today stand in the record."
    if done.version is None:
        return kept
    why = (
        "Safety answers were taken in" if done.is_of_answers else "It changes what the screen says"
    )
    return (
        f"{kept} {why}: version {done.version.number} of the plan. "
        f"Screen: {done.version.digest['level']} (was {done.level_before})."
    )


def _question(visit: Visit, now: _Round, said: Said | None = None) -> Response:
    client = visit.client
    about = f"Check-in of {client.name}"
    return question_page(
        visit, "coach/checkin.html", now, _here(visit), said, client=client, about=about
    )


def _round(visit: Visit) -> _Round:
    """Return the round that runs; a new one goes on where the record says today stopped."""
    held = visit.here.held.get(_HELD)
    fits = isinstance(held, _Round) and (held.client, held.on) == (
        visit.client.token,
        visit.desk.on,
    )
    if not isinstance(held, _Round) or not fits:
        session = CheckinSession(
            visit.desk, visit.records, visit.client, units=visit.serving.units, kb=visit.kb
        )
        held = _round_of(visit, session)
        visit.here.held[_HELD] = held
    return held


def _round_of(visit: Visit, session: CheckinSession) -> _Round:
    there = in_place(session.dialogue())
    return _Round(there, client=visit.client.token, on=visit.desk.on, session=session)


def _client(visit: Visit) -> str:
    return f"/desk/c/{visit.client.token}"


def _here(visit: Visit) -> str:
    return f"{_client(visit)}/checkin"
