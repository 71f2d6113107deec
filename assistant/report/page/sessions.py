"""Training days as tables, the week's sets by day, and the next session after a day."""

import datetime as dt
from collections.abc import Mapping

from markupsafe import Markup

from assistant.model.programme import Line, Programme, Session
from assistant.model.values import WEEKDAYS, weekday_of
from assistant.programme.catalogue import Catalogue
from assistant.programme.prescribe import search_note, search_reserve
from assistant.report.page.shapes import ExerciseRow, Plate, SessionView
from assistant.report.page.words import PageWords
from assistant.report.pictures.week_grid import MuscleDays
from assistant.report.week_text import load


def session_view(session: Session, words: PageWords, *, coach: bool, day: str = "") -> SessionView:
    """Return a session for the page; `day` replaces the weekday in its title."""
    label = words.phrases.label
    title = words.say(
        "session_title", day=day or label(session.day), type=label(session.type, "in_title")
    )
    length = words.say(
        "session_minutes",
        minutes=f"{session.minutes:.0f}",
        allowed=str(session.minutes_allowed),
    )
    rows = tuple(_row(line, words, coach=coach) for line in session.lines)
    return SessionView(session.day, words.html(title), words.html(length), rows)


def _row(line: Line, words: PageWords, *, coach: bool) -> ExerciseRow:
    seconds = line.measure == "seconds"
    key = "dose_seconds" if seconds else "dose_repetitions"
    dose = words.say(key, sets=str(line.sets), low=str(line.low), high=str(line.high))
    reserve = words.say("reserve_seconds" if seconds else "reserve", count=str(line.rir))
    rest = words.say("rest_seconds", seconds=str(line.rest_s))
    return ExerciseRow(
        words.html(words.exercise(line.exercise, line.name)),
        words.html(dose),
        words.html(reserve),
        words.html(rest),
        words.html(load(line, words.phrases)),
        line.reason if coach else "",
        tuple(f"{item.name} ({item.changes})" for item in line.substitutes) if coach else (),
    )


def load_notes(programme: Programme, catalogue: Catalogue, words: PageWords) -> tuple[Markup, ...]:
    """Return how to find a load, one sentence for each way this week needs."""
    loads = catalogue.settings.loads
    open_lines = [
        line for session in programme.sessions for line in session.lines if line.load_kg is None
    ]
    ways = {_way_to_a_load(line, catalogue) for line in open_lines}
    most = max((line.rir for line in open_lines), default=0)
    slots = {
        "start": str(search_reserve(most, catalogue)[0]),
        "percent": str(loads.search_load_step_percent),
        "sets": str(min([line.sets for line in open_lines if line.sets > 1] + [loads.search_sets])),
    }
    order = ("load_search", "load_search_slow", "load_hold", "load_body")
    return tuple(words.html(words.say(key, **slots)) for key in order if key in ways)


def _way_to_a_load(line: Line, catalogue: Catalogue) -> str:
    if line.measure == "seconds":
        return "load_hold"
    if line.load_note != search_note(line.sets, line.rir, catalogue):
        return "load_body"
    return "load_search" if line.sets > 1 else "load_search_slow"


def next_session(programme: Programme, after: dt.date) -> tuple[Session, dt.date] | None:
    """Return the first session later than a day, and its day; None for a week without sessions."""
    by_day = {session.day: session for session in programme.sessions}
    for ahead in range(1, 8):
        day = after + dt.timedelta(days=ahead)
        if weekday_of(day) in by_day:
            return by_day[weekday_of(day)], day
    return None


def sets_by_day(
    programme: Programme, credits_of: Mapping[str, Mapping[str, float]]
) -> list[MuscleDays]:
    """Return every counted muscle with its hard sets by day, in the order of the programme.

    credits_of: sets that one hard set of an exercise adds to a muscle, by exercise and muscle.
    """
    rows = []
    for muscle in programme.muscles:
        sets: dict[str, float] = {}
        for session in programme.sessions:
            total = sum(
                line.sets * credits_of[line.exercise].get(muscle.muscle, 0.0)
                for line in session.lines
            )
            if total:
                sets[session.day] = total
        rows.append(MuscleDays(muscle.muscle, muscle.priority, sets))
    return rows


def plates(programme: Programme | None) -> tuple[Plate, ...]:
    """Return the week as plates on a bar: taller the longer the day's session is."""
    minutes = {s.day: s.minutes for s in programme.sessions} if programme else {}
    longest = max(minutes.values(), default=1.0)
    made = []
    for number, day in enumerate(WEEKDAYS):
        share = minutes.get(day, 0.0) / longest
        made.append(Plate(14 + 14 * number, round(8 + 32 * share, 1), day in minutes))
    return tuple(made)


def unmet_lines(programme: Programme, words: PageWords) -> tuple[Markup, ...]:
    """Return what gives way and what would help, each once."""
    said = [f"{u.why}. {u.remedy}" if u.remedy else u.why for u in programme.unmet]
    return tuple(words.html(text) for text in dict.fromkeys(said))
