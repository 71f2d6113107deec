"""How to find loads, the week's sets by day, and the next session after a day."""

import datetime as dt
from collections.abc import Mapping

from markupsafe import Markup

from assistant.model.programme import Line, Programme, Session
from assistant.model.values import WEEKDAYS, weekday_of
from assistant.plan.loads import next_words
from assistant.programme.catalogue import Catalogue
from assistant.programme.prescribe import search_note, search_reserve
from assistant.report.page.words import PageWords
from assistant.report.pictures.week_grid import MuscleDays
from assistant.report.week_text import raising_notes


def load_notes(programme: Programme, catalogue: Catalogue, words: PageWords) -> tuple[Markup, ...]:
    """Return how to find a load, one sentence for each way this week needs, and when it rises."""
    return tuple(words.html(said) for said in load_sentences(programme, catalogue, words))


def load_sentences(programme: Programme, catalogue: Catalogue, words: PageWords) -> list[str]:
    """Return the same as plain text."""
    loads = catalogue.settings.loads
    open_lines = [
        line
        for session in programme.sessions
        for line in session.lines
        if line.load_kg is None and (session.day, line.exercise) not in programme.next_loads
    ]
    ways = {_way_to_a_load(line, catalogue) for line in open_lines}
    most = max((line.rir for line in open_lines), default=0)
    slots = {
        "start": str(search_reserve(most, catalogue)[0]),
        "percent": str(loads.search_load_step_percent),
        "sets": str(min([line.sets for line in open_lines if line.sets > 1] + [loads.search_sets])),
    }
    order = ("load_search", "load_search_slow", "load_hold", "load_body")
    ways_said = [words.say(key, **slots) for key in order if key in ways]
    return ways_said + raising_notes(programme, words.phrases)


def _way_to_a_load(line: Line, catalogue: Catalogue) -> str:
    if line.measure == "seconds":
        return "load_hold"
    if line.load_note != search_note(line.sets, line.rir, catalogue):
        return "load_body"
    return "load_search" if line.sets > 1 else "load_search_slow"


def coming_next(programme: Programme, session: Session, line: Line, words: PageWords) -> Markup:
    """Return what comes next on a line, from the sets that were told; empty where nothing tells."""
    step = programme.next_loads.get((session.day, line.exercise))
    return Markup() if step is None else words.html(next_words(step, words.phrases, words.exercise))


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


def plates(programme: Programme | None) -> list[tuple[int, float, bool]]:
    """Return the week as plates on a bar, one a day: place, height by the session's length, trains."""
    minutes = {s.day: s.minutes for s in programme.sessions} if programme else {}
    longest = max(minutes.values(), default=1.0)
    return [
        (14 + 14 * number, round(8 + 32 * minutes.get(day, 0.0) / longest, 1), day in minutes)
        for number, day in enumerate(WEEKDAYS)
    ]
