"""What is sent from a session: sets that were done, the session's end, another exercise in a place."""

from collections.abc import Iterator

from starlette.responses import Response

from assistant.clients.changing import Change, keep_change
from assistant.clients.kept import Why
from assistant.clients.sets_done import done_on, entry_of_sets, keep_done, looks_wrong
from assistant.intake.checkin.book import checkin_book
from assistant.intake.checkin.lift_sets import read_sets
from assistant.intake.checkin.typed_lines import measured
from assistant.intake.form import form_of
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.model.entries import Entry
from assistant.model.history import LiftSet
from assistant.model.programme import Line
from assistant.model.wishes import WeekEdit
from assistant.web.client.own import mark_of, own
from assistant.web.client.today import SWAPPED, today
from assistant.web.visit import NotHere, Visit

# More sets of one exercise than anybody is given; what is beyond was not sent by the page.
_MOST_SETS = 20


def _line(visit: Visit) -> Line:
    """Return the line of the week that a form is about. Raises NotHere."""
    programme, mark = own(visit).plan.programme, visit.sent("line")
    sessions = programme.sessions if programme is not None else ()
    lines = (line for session in sessions for line in session.lines)
    found = next((line for line in lines if mark_of(line.exercise) == mark), None)
    if found is None:
        raise NotHere
    return found


def _swaps(visit: Visit) -> dict[tuple[object, str], str]:
    held: dict[tuple[object, str], str] = visit.here.held.setdefault(SWAPPED, {})
    return held


def _trained(visit: Visit, line: Line) -> str:
    """Return the exercise that is trained in the place of a line today."""
    swapped = _swaps(visit).get((visit.desk.on, line.exercise), "")
    known = {other.exercise for other in line.substitutes}
    return swapped if swapped in known else line.exercise


def sets(visit: Visit) -> Response:
    """Keep the sets that are ticked; those that are no longer ticked are taken back."""
    line = _line(visit)
    exercise = _trained(visit, line)
    speech = form_of(visit.kb, visit.desk.on).speech
    typed = {name: values[-1] for name, values in visit.form.items()}
    about = {"about": line.exercise, "typed": typed}
    try:
        done = list(_read(visit, exercise))
    except Refusal as refusal:
        return today(visit, 400, problem=speech.said(refusal.sentence), **about)
    stands = done_on(visit.records, visit.client, visit.desk.on).sets.get(exercise, ())
    if not done and not stands:
        return today(visit, 400, problem=visit.words.say("web_no_set_ticked"), **about)
    entry = entry_of_sets(visit.desk.on, exercise, done)
    if done and not visit.sent("sure"):
        doubt = looks_wrong(visit.desk, visit.records, visit.client, visit.kb, entry)
        if doubt:
            return today(visit, 400, doubt=doubt, **about)
    keep_done(visit.desk, visit.records, visit.client, [entry])
    return visit.go(f"/me#x-{mark_of(line.exercise)}", visit.words.say("web_sets_kept"))


def _read(visit: Visit, exercise: str) -> Iterator[LiftSet]:
    """Yield the ticked sets, read as a check-in reads them. Raises Refusal."""
    book = checkin_book(visit.kb, visit.desk.on)
    units = UnitSystem.IMPERIAL if visit.is_imperial else UnitSystem.METRIC

    def load(text: str) -> float:
        return measured(text, "top_set", exercise, book, units)

    ticked = visit.form.get("done") or []
    for number in range(1, _MOST_SETS + 1):
        if str(number) in ticked:
            weight = visit.sent(f"load_{number}") or "0"
            left = visit.sent("reserve")
            text = f"{weight} x {visit.sent(f'reps_{number}')}" + (f" @{left}" if left else "")
            yield from read_sets(text, load, book.document)


def session_done(visit: Visit) -> Response:
    """Mark the session of the day as done, or take that back."""
    on = visit.desk.on
    value = None if visit.sent("undo") else 1.0
    version = keep_done(visit.desk, visit.records, visit.client, [Entry("session", on, value)])
    said = "web_session_undone" if value is None else "web_session_kept"
    return visit.go("/me" if version is None else "/me/plan", visit.words.say(said))


def swap(visit: Visit) -> Response:
    """Put a listed substitute in the place of an exercise: for today, or from now on."""
    line = _line(visit)
    other = visit.sent("today") or visit.sent("always")
    place = f"/me#x-{mark_of(line.exercise)}"
    if visit.sent("back"):
        _swaps(visit).pop((visit.desk.on, line.exercise), None)
        return visit.go(place)
    if other not in {each.exercise for each in line.substitutes}:
        raise NotHere
    if visit.sent("today"):
        _swaps(visit)[visit.desk.on, line.exercise] = other
        return visit.go(place, visit.words.say("web_swapped_today"))
    reason, by = visit.words.say("web_kit_taken"), visit.client.name
    edit = WeekEdit("replace", line.exercise, by, reason, visit.desk.on, other=other)
    keep_change(
        visit.desk, visit.records, visit.client.handle, Change(edit), Why("edit", by, reason)
    )
    return visit.go(f"/me#x-{mark_of(other)}", visit.words.say("web_swapped_always"))
