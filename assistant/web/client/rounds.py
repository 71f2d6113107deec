"""Rounds of questions after the first ones: the check-in, a pain between times, an answer put right.

What is confirmed is in the record before the next page is shown. After a restart a check-in goes on where
it stood: what was said today is not asked again.
"""

from dataclasses import dataclass, replace

from starlette.responses import Response

from assistant.clients.checkin import CheckinSession, Ended
from assistant.clients.kept import Why
from assistant.clients.week import kept_in
from assistant.explain.versions import Changed, changes, week_changes
from assistant.intake import dialogue as d
from assistant.intake.checkin.form import PREFIX
from assistant.intake.dialogue import Dialogue, Ending, replay
from assistant.intake.events import Confirmed
from assistant.intake.reading import minutes_for
from assistant.model.errors import InputProblems
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value
from assistant.model.version import Version
from assistant.records.asked import open_referrals
from assistant.web.asked import in_place, last_question
from assistant.web.client import asking
from assistant.web.client.own import mark_of, own
from assistant.web.dialogues import Held, question_page, rows_of, taken, told_page
from assistant.web.visit import NotHere, Visit

ROUND, ENDED = "/me/round", "/me/changed"
_HELD, _CHANGED = "round", "changed"
_ANSWERS = Why("answers")
# More than this would be a list to study, not an answer to "what changes because of it".
_MOST_CHANGES = 3


@dataclass(kw_only=True)
class _Round(Held):
    """A round under way. kind: checkin, pain or change. before: the version of the plan when it began."""

    kind: str
    session: CheckinSession
    before: Version | None
    token: str

    @property
    def needs_last(self) -> bool:
        """Whether the question whose answer is kept nowhere is part of it."""
        return last_question(self.dialogue) is not None


def checkin(visit: Visit) -> Response:
    """Show what a check-in is, and where to begin or go on."""
    session = _session(visit)
    dialogue = in_place(session.dialogue())
    asked, left = (
        [dialogue.form.slots[i] for i in places if _is_kept(dialogue, i)]
        for places in (dialogue.applicable, dialogue.open_questions)
    )
    return visit.show(
        "client/checkin.html",
        here="/me/checkin",
        count=len(left),
        began=len(left) < len(asked),
        minutes=max(1, round(minutes_for(left, dialogue.audience))),
    )


def _is_kept(dialogue: Dialogue, index: int) -> bool:
    return dialogue.form.slots[index].fact not in SESSION_ONLY_FACTS


def _session(
    visit: Visit, only: tuple[str, ...] | None = None, *, closes: bool = True
) -> CheckinSession:
    units = visit.serving.units
    return CheckinSession(
        visit.desk, visit.records, visit.client, only, alone=True, units=units, kb=visit.kb, closes=closes
    )  # fmt: skip


def begin(visit: Visit) -> Response:
    """Begin a check-in, or go on with the one of today."""
    session = _session(visit)
    _hold(visit, "checkin", session, in_place(session.dialogue()))
    return visit.go(ROUND)


def hurts(visit: Visit) -> Response:
    """Ask about pain at once."""
    return _ask_one(visit, "pain", f"{PREFIX}pain")


def change(visit: Visit) -> Response:
    """Go to the question of one answer that is to be put right."""
    facts = {
        mark_of(q.fact): q.fact for q in visit.kb.questions if q.fact not in SESSION_ONLY_FACTS
    }
    fact = facts.get(visit.sent("answer_mark"))
    if fact is None:
        raise NotHere
    return _ask_one(visit, "change", fact)


def _ask_one(visit: Visit, kind: str, fact: str) -> Response:
    session = _session(visit, (fact,), closes=False)
    dialogue = session.dialogue()
    asked = [slot.fact for slot in dialogue.form.slots]
    if fact not in asked:
        raise NotHere
    answers = visit.person.case.answers
    hidden = visit.person.narrator("client").hides(fact)
    if fact in answers and fact not in dialogue.answers and not hidden:
        dialogue = replay(dialogue, [Confirmed(fact, answers[fact])])
    # Its own question first, with the answer that stands, then whatever hangs on it and is open.
    there = d.edit(d.review(dialogue).dialogue, asked.index(fact)).dialogue
    _hold(visit, kind, session, there)
    return visit.go(ROUND)


def _hold(visit: Visit, kind: str, session: CheckinSession, dialogue: Dialogue) -> None:
    current = visit.person.current
    visit.here.held[_HELD] = _Round(
        dialogue, kind=kind, session=session, before=current, token=visit.client.token
    )


def _held(visit: Visit) -> _Round | None:
    held = visit.here.held.get(_HELD)
    if not isinstance(held, _Round) or held.token != visit.client.token:
        return None
    if held.session.checkin.situation.today != visit.desk.on:
        return None
    return held


def ask(visit: Visit) -> Response:
    """Show the question where the round stands, or its end."""
    held = _held(visit)
    if held is None:
        return visit.go("/me/checkin")
    if held.told:
        return told_page(visit, "client/told.html", held, ROUND)
    if not held.dialogue.in_review:
        return question_page(visit, "client/ask.html", held, ROUND)
    if held.needs_last:
        return asking.last_page(visit, held.dialogue, f"{ROUND}/end")
    rows = rows_of(visit, held.dialogue)
    return visit.show("client/round.html", rows=rows, then=f"{ROUND}/end", edit=f"{ROUND}/edit")


def answer(visit: Visit) -> Response:
    """Keep an answer in the record, or say what is wrong with it."""
    held = _held(visit)
    if held is None:
        return visit.go("/me/checkin")
    done = taken(visit, held.session, held)
    if done.said is not None:
        return question_page(visit, "client/ask.html", held, ROUND, done.said)
    # A single question is over with its answer; a whole check-in is looked through first.
    over = held.dialogue.in_review and not held.told and not held.needs_last
    if over and held.kind != "checkin":
        return _end(visit, held)
    return visit.go(ROUND, done.notice)


def edit(visit: Visit) -> Response:
    """Go from the list of a round's answers to one question."""
    held = _held(visit)
    if held is None:
        return visit.go("/me/checkin")
    held.to_number(visit.sent("number"))
    return visit.go(ROUND)


def end(visit: Visit) -> Response:
    """End a round: a yes to the last question is answered on the spot, else the plan looks again."""
    held = _held(visit)
    if held is None:
        return visit.go("/me/checkin")
    if not held.is_complete:
        held.to_first_open()
        return visit.go(ROUND)
    return asking.crisis(visit, held.dialogue) or _end(visit, held)


def _end(visit: Visit, held: _Round) -> Response:
    visit.here.held.pop(_HELD, None)
    if held.kind == "change":
        done = held.session.ended(held.dialogue, Ending.FINISHED, _ANSWERS)
    else:
        done = held.session.ended(held.dialogue, Ending.FINISHED)
    _keep_changed(visit, held.before, done)
    more = held.session.follow_up()
    if more is None:
        return visit.go(ENDED)
    visit.here.held[_HELD] = replace(held, dialogue=in_place(more.dialogue()), session=more)
    return visit.go(ROUND, visit.words.say("web_more_questions"))


def _keep_changed(visit: Visit, before: Version | None, done: Ended) -> None:
    if done.not_made is not None:
        visit.here.held[_CHANGED] = done.not_made
    elif done.version is not None:
        visit.here.held[_CHANGED] = before


def changed(visit: Visit) -> Response:
    """Show what changes because of what was told, in a few lines."""
    was: object = visit.here.held.get(_CHANGED, _NOTHING)
    mine = own(visit)
    now = mine.person.current
    rows: list[Changed] = []
    is_new = isinstance(was, Version) and now is not None and now.number > was.number
    week = False
    if isinstance(was, Version) and now is not None and is_new:
        found = changes(was.digest, now.digest, mine.narrator)
        rows = list(found[:_MOST_CHANGES])
        week = bool(week_changes(kept_in(was), kept_in(now), mine.narrator))
    return visit.show(
        "client/changed.html",
        is_new=is_new,
        version=now,
        rows=rows,
        week=week,
        not_made=isinstance(was, InputProblems),
        alert=mine.parts["alert"],
        first=mine.parts["first_lines"],
        words=mine.words,
    )


_NOTHING = object()


def went(visit: Visit) -> Response:
    """Keep whether somebody was seen."""
    lines = visit.records.history(visit.client, until=visit.desk.on)
    roles = [each.role for each in open_referrals(lines, visit.desk.on)]
    role = next((each for each in roles if mark_of(each) == visit.sent("who")), None)
    seen: Value = visit.sent("seen")
    if role is None or seen not in {"1", "2", "3"}:
        return visit.go("/me/people")
    fact = f"{PREFIX}referral_{role}"
    session = _session(visit, (fact,), closes=False)
    before = visit.person.current
    session.remember(Confirmed(fact, seen))
    done = session.ended(session.dialogue(), Ending.FINISHED)
    _keep_changed(visit, before, done)
    return visit.go(
        ENDED if done.version is not None else "/me/people", visit.words.say("web_kept")
    )
