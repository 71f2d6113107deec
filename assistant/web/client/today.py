"""Today: where the plan stands, what needs the client first, and the session to tick off."""

import dataclasses
import datetime as dt
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup
from starlette.responses import Response

from assistant.clients.sets_done import done_on
from assistant.model.history import LiftSet
from assistant.model.programme import Line, Programme, Session, Substitute
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status
from assistant.plan.how_to import HowToCard, how_to
from assistant.plan.loads import load_words
from assistant.records.chain import ENTRY, SAID
from assistant.report.page.sessions import coming_next, load_notes, next_session
from assistant.report.page.words import PageWords
from assistant.report.pictures.figure import figure_svg
from assistant.report.week_text import minutes_said, warm_up_said
from assistant.web.client.own import Own, mark_of, own
from assistant.web.client.reading import marks, to_see
from assistant.web.visit import Visit

SWAPPED = "swapped"
_WEEK = dt.timedelta(weeks=1)


@dataclass(frozen=True)
class SetRow:
    """One set to tick. load, repetitions: what stands in the fields. done: it is in the record."""

    number: int
    load: str
    repetitions: str
    done: bool


@dataclass(frozen=True)
class Exercise:
    """One exercise of the session as the page shows it.

    stands_for: the exercise of the plan that it takes the place of today, empty for its own. rows: its sets;
    none for a hold, which is timed and not loaded.
    """

    id: str
    mark: str
    name: Markup
    line: Line
    start: str
    coming: Markup
    warm_up: Markup
    card: HowToCard | None
    picture: Markup | None
    rows: tuple[SetRow, ...]
    reserve: str
    others: tuple[Substitute, ...]
    stands_for: Markup = dataclasses.field(default_factory=Markup)


def today(visit: Visit, status: int = 200, **said: Any) -> Response:
    """Show the day. said: what was wrong with a form of the page, and which exercise it was about."""
    mine = own(visit)
    programme = mine.plan.programme
    found = _session(programme, visit.desk.on)
    session, day = found if found is not None else (None, None)
    is_today = day == visit.desk.on
    done = done_on(visit.records, visit.client, visit.desk.on)
    shown = (
        [_exercise(visit, mine, programme, session, line, done.sets) for line in session.lines]
        if programme is not None and session is not None
        else []
    )
    first = mine.parts["first_lines"] if mine.parts["alert"] != "calm" else []
    more = {"problem": "", "about": "", "typed": {}, "doubt": "", **said}
    return visit.show(
        "client/today.html",
        status,
        here="/me",
        place=mine.parts["place"],
        alert=mine.parts["alert"],
        first=first,
        needs=needs(visit, mine),
        training=session,
        minutes="" if session is None else minutes_said(session, mine.words, "session_minutes"),
        day="" if day is None else mine.words.date(day, "date_weekday"),
        is_today=is_today,
        exercises=shown,
        done=done,
        notes=_notes(mine, programme),
        waits=[line for line in mine.parts["cards"] if line.id == "train"],
        marks=marks(mine),
        unit="lb" if visit.is_imperial else "kg",
        **{**more, "words": mine.words},
    )


def _session(programme: Programme | None, on: dt.date) -> tuple[Session, dt.date] | None:
    """Return the session of the day, else the next one, with its day."""
    return None if programme is None else next_session(programme, on - dt.timedelta(days=1))


def _notes(mine: Own, programme: Programme | None) -> tuple[Markup, ...]:
    if programme is None:
        return ()
    planner = mine.person.planner
    spared = (mine.words.html(mine.words.free(note)) for note in programme.notes)
    return (*spared, *load_notes(programme, planner.catalogue, mine.words))


def _exercise(
    visit: Visit,
    mine: Own,
    programme: Programme | None,
    session: Session,
    line: Line,
    done: dict[str, tuple[LiftSet, ...]],
) -> Exercise:
    assert programme is not None
    words, kb = mine.words, mine.person.planner.kb
    swapped = dict(visit.here.held.get(SWAPPED, {})).get((visit.desk.on, line.exercise), "")
    others = {other.exercise: other for other in line.substitutes}
    shown_id = swapped if swapped in others else line.exercise
    name = others[shown_id].name if shown_id in others else line.name
    own_line = shown_id == line.exercise
    told = done.get(shown_id, ())
    return Exercise(
        id=shown_id,
        mark=mark_of(line.exercise),
        name=words.html(words.exercise(shown_id, name)),
        line=line,
        start=load_words(line.load_kg, words.phrases) if own_line else "",
        coming=coming_next(programme, session, line, words) if own_line else Markup(),
        warm_up=words.html(warm_up_said(line, words)) if own_line else Markup(),
        card=how_to(kb, shown_id, words.language),
        picture=figure_svg(kb, shown_id, words.language.language),
        rows=() if line.measure == "seconds" else _rows(line, told, words, has_load=own_line),
        reserve=_reserve(told),
        others=tuple(
            dataclasses.replace(other, name=words.exercise(other.exercise, other.name))
            for other in line.substitutes
            if other.exercise != shown_id
        ),
        stands_for=Markup() if own_line else words.html(words.exercise(line.exercise, line.name)),
    )


def _rows(
    line: Line, told: tuple[LiftSet, ...], words: PageWords, *, has_load: bool
) -> tuple[SetRow, ...]:
    factor, _ = words.phrases.in_reader_units("kg")
    load = _plain(line.load_kg, factor, words) if has_load and line.load_kg is not None else ""
    rows = [
        SetRow(number, _plain(each.load_kg, factor, words), str(each.repetitions), done=True)
        for number, each in enumerate(told, start=1)
    ]
    left = range(len(rows) + 1, max(line.sets, len(rows)) + 1)
    return (*rows, *(SetRow(number, load, str(line.low), done=False) for number in left))


def _plain(load_kg: float, factor: float, words: PageWords) -> str:
    return words.phrases.written(f"{load_kg * factor:.5g}")


def _reserve(told: tuple[LiftSet, ...]) -> str:
    left = {each.reserve for each in told}
    one = left.pop() if len(left) == 1 else None
    return "" if one is None else f"{one:g}"


@dataclass(frozen=True)
class Need:
    """One thing that needs the client. key: of its sentence. count: how many. path: where it is done."""

    key: str
    path: str
    count: int = 1


def needs(visit: Visit, mine: Own) -> list[Need]:
    """Return what needs the client first, the most urgent at the top."""
    found = []
    waiting = len(to_see(visit))
    if waiting:
        found.append(Need("web_need_people", "/me/people", waiting))
    if _checkin_is_due(visit, mine):
        found.append(Need("web_need_checkin", "/me/checkin"))
    unanswered = _unanswered(mine)
    if unanswered:
        key = "web_need_answer" if unanswered == 1 else "web_need_answers"
        found.append(Need(key, "/me/data", unanswered))
    return found


def _checkin_is_due(visit: Visit, mine: Own) -> bool:
    """Tell whether so many weeks went by without a word as lie between two check-ins of the calendar."""
    kb, on = mine.person.planner.kb, visit.desk.on
    lines = visit.records.history(visit.client, kinds=[ENTRY, SAID], until=on)
    last = max((line.said_on for line in lines), default=visit.client.added_on)
    weeks = kb.parameter_value(kb.calendar.parameters.check_in_weeks, on).value
    return on - last >= weeks * _WEEK


def _unanswered(mine: Own) -> int:
    """Return how many safety questions were left open: those keep parts of the plan back."""
    answers, facts = mine.person.case.answers, mine.person.planner.kb.facts
    return sum(
        1
        for question in mine.person.planner.kb.questions
        if question.fact not in SESSION_ONLY_FACTS
        and facts[question.fact].is_safety
        and answers.get(question.fact, Status.UNKNOWN) is Status.UNKNOWN
    )
