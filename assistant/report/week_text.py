"""The week as a sheet to train from: sessions in order, doses, loads, swaps."""

import re
from collections.abc import Iterable

from assistant.model.kept import Unfit
from assistant.model.programme import HandNote, Line, NextLoad, Programme, Session, WarmUpSet
from assistant.model.rules import Audience
from assistant.model.values import WEEKDAYS
from assistant.plan.loads import load_words, next_words
from assistant.plan.phrases import WIDTH, Phrasebook, sentence_case, underlined, wrapped
from assistant.programme.progression import MissedSession
from assistant.report.page.words import PageWords, english_words

# Rows of a line behind its first stand under its text.
_UNDER = " " * 7
OPEN_MARK = "*"
_PLACE = re.compile(rf"({'|'.join(WEEKDAYS)}) [0-9]+")


def sessions_text(programme: Programme, phrases: Phrasebook, audience: Audience) -> list[str]:
    """Return the rows of all sessions, then how to find and raise loads and what is left out."""
    rows: list[str] = []
    for session in programme.sessions:
        rows += underlined(session_title(session, phrases))
        rows += session_text(session, programme, phrases, audience)
    rows += titled("When to stop", [english_words(phrases).say("session_stop")])
    rows += titled("Finding the loads", loads_text(programme, phrases))
    return rows + left_out_text(programme)


def session_text(
    session: Session, programme: Programme, phrases: Phrasebook, audience: Audience
) -> list[str]:
    """Return the lines of a session with their reasons and what may stand in their place."""
    return [
        row
        for line in session.lines
        for row in _line(
            session, line, programme.next_loads.get((session.day, line.exercise)), phrases, audience
        )
    ]


def brief_session(
    session: Session, programme: Programme, words: PageWords, audience: Audience
) -> list[str]:
    """Return the lines of a session in columns: place, exercise, sets, what is left, rest.

    A line that is worked up to by a share of a load not known yet bears a mark: `open_warm_up` explains it.
    """
    phrases = words.phrases
    named = {each: _named(each, phrases) for s in programme.sessions for each in s.lines}
    wide = max(map(len, named.values()))
    marked = max((len(each.warm_up) for each in session.lines if opens(each)), default=1)
    wide_dose = max(len(dose_parts(each, words)[0]) for each in session.lines)
    rows = []
    for line in session.lines:
        dose_said, left, rest = dose_parts(line, words)
        mark = OPEN_MARK * len(line.warm_up) if opens(line) else ""
        row = f"{named[line]:{wide}}  {dose_said:{wide_dose}}  {left}, {rest}"
        text = f"{place_of(session, line)} {mark:>{marked}}{row}"
        rows += [text] if len(text) <= WIDTH else wrapped(text, "", _UNDER)
        rows += _by_hand(line, audience)
        coming = programme.next_loads.get((session.day, line.exercise))
        rows += _coming(coming, phrases)
        rows += [] if opens(line) else _warm_up(line, words)
    return rows


def dose_parts(line: Line, words: PageWords) -> tuple[str, str, str]:
    """Return sets and range, what stays in reserve, and the rest of a line."""
    held = line.measure == "seconds"
    said = words.say(
        "dose_seconds" if held else "dose_repetitions",
        sets=str(line.sets),
        low=str(line.low),
        high=str(line.high),
    )
    if _has_sides(line, words.phrases):
        said = words.say("dose_each_side", dose=said)
    return (
        said,
        words.say("reserve_seconds" if held else "reserve", count=str(line.rir)),
        words.say("log_rest", seconds=str(line.rest_s)),
    )


def warm_up_said(line: Line, words: PageWords) -> str:
    """Return the lighter sets before a line in the reader's words and units; empty for none."""
    if not line.warm_up:
        return ""
    said = (
        _open_set(each, words)
        if each.load_kg is None
        else words.say(
            "log_set",
            load=load_words(each.load_kg, words.phrases),
            repetitions=str(each.repetitions),
        )
        for each in line.warm_up
    )
    key = "warm_up_sets_open" if opens(line) else "warm_up_sets"
    return words.say(key, sets=", ".join(said))


def opens(line: Line) -> bool:
    """Tell whether a line is worked up to by shares of a load that is not known yet."""
    return any(each.load_kg is None for each in line.warm_up)


def open_warm_up(programme: Programme, words: PageWords) -> list[str]:
    """Return the one sentence for all lines that `opens` marks, a mark for each set. Empty where none is."""
    found = [line for session in programme.sessions for line in session.lines if opens(line)]
    if not found:
        return []
    most = max(found, key=lambda line: len(line.warm_up))
    if len(most.warm_up) == 1:
        return [f"{OPEN_MARK} {warm_up_said(most, words)}."]
    first, last = (_open_set(each, words) for each in (most.warm_up[0], most.warm_up[-1]))
    said = words.say("warm_up_marks", first=first, last=last)
    return [f"{said}."]


def _open_set(of: WarmUpSet, words: PageWords) -> str:
    return words.say("warm_up_open", percent=str(of.percent), repetitions=str(of.repetitions))


def minutes_said(session: Session, words: PageWords, key: str = "text_minutes") -> str:
    """Return how long a session is, how long it may be, and how much of it is easy movement first."""
    return words.say(
        key,
        minutes=f"{session.minutes:.0f}",
        allowed=str(session.minutes_allowed),
        warm_up=words.phrases.written(f"{session.warm_up_s / 60:g}"),
    )


def place_of(session: Session, line: Line) -> str:
    """Return a line's place in the week, as `why` takes it: `mon 3`."""
    return f"{session.day} {line.order}"


def is_place(asked: str) -> bool:
    """Tell whether words name a place in the week: a day in short and a number."""
    return _PLACE.fullmatch(asked) is not None


def line_at(place: str, programme: Programme, phrases: Phrasebook, audience: Audience) -> list[str]:
    """Return the line at a place of the week, whole, under its session; empty where none is."""
    for session in programme.sessions:
        for line in session.lines:
            if place_of(session, line) == place:
                coming = programme.next_loads.get((session.day, line.exercise))
                rows = _line(session, line, coming, phrases, audience)
                return [*underlined(session_title(session, phrases)), *rows]
    return []


def loads_text(programme: Programme, phrases: Phrasebook) -> list[str]:
    """Return how to find the loads of a week, each way once, and when they rise."""
    return [*_load_notes(programme), *raising_notes(programme, phrases)]


def left_out_text(programme: Programme) -> list[str]:
    """Return what the week leaves out on purpose, under its heading."""
    return titled("Left out on purpose", [sentence_case(note) for note in programme.notes])


def session_title(session: Session, phrases: Phrasebook) -> str:
    """Return e.g. `Monday: lower body, about 41 of 60 min, 3 to warm up`."""
    day, kind = phrases.label(session.day), phrases.label(session.type)
    return f"{day}: {kind}, {minutes_said(session, english_words(phrases))}"


def titled(title: str, points: Iterable[str]) -> list[str]:
    """Return a heading with points under it; nothing where there are none."""
    rows = [row for point in points for row in wrapped(point, "- ")]
    return [*underlined(title), *rows] if rows else []


def missed_text(day: str, after: MissedSession, phrases: Phrasebook) -> list[str]:
    """Return what becomes of the week after a missed day."""
    where = f", {phrases.label(after.moved_to)}" if after.moved_to else ""
    said = f"{phrases.label(day)} was missed: {after.advice}{where}"
    return titled("After the missed day", [said])


def unfit_text(unfit: Iterable[Unfit], phrases: Phrasebook) -> list[str]:
    """Return why the week that was kept gave way to this one; empty where it did not."""
    points = dict.fromkeys(
        f"{phrases.label(each.day)}: {each.why}" if each.day else each.why for each in unfit
    )
    return titled("Changed, because the kept week cannot stand as it was", points) if points else []


def dose(line: Line, phrases: Phrasebook, audience: Audience) -> str:
    """Return sets, range and effort in the reader's words."""
    unit = "" if line.measure == "repetitions" else f" {line.measure}"
    unit += " each side" if _has_sides(line, phrases) else ""
    sets = f"{line.sets} set{'s' if line.sets != 1 else ''}"
    if audience == "coach":
        effort = f"{line.rir} in reserve"
    elif line.measure != "repetitions":
        effort = "stop while it still looks good"
    else:
        effort = f"stop with {line.rir} good one{'s' if line.rir != 1 else ''} left"
    return f"{sets} of {line.low} to {line.high}{unit}, {effort}, rest {line.rest_s} s"


def _has_sides(line: Line, phrases: Phrasebook) -> bool:
    exercise = phrases.kb.exercises.by_id.get(line.exercise)
    return exercise is not None and exercise.unilateral


def load(line: Line, phrases: Phrasebook) -> str:
    """Return the load of a line in the reader's units, or an empty text."""
    return load_words(line.load_kg, phrases)


def raising_notes(programme: Programme, phrases: Phrasebook) -> list[str]:
    """Return the one rule of when a load rises, where a book says it and a line can have a load."""
    words = phrases.kb.plan.next_loads
    counted = (
        line.measure == "repetitions" for session in programme.sessions for line in session.lines
    )
    return [words.every_set] if words is not None and any(counted) else []


def _line(
    session: Session, line: Line, coming: NextLoad | None, phrases: Phrasebook, audience: Audience
) -> list[str]:
    start = load(line, phrases)
    text = f"{line.name}: {dose(line, phrases, audience)}{', ' + start if start else ''}"
    rows = wrapped(text, f"{place_of(session, line)}  ", _UNDER)
    rows += _by_hand(line, audience)
    if audience == "coach":
        rows += wrapped(f"why: {line.reason}", _UNDER, _UNDER)
        if start and coming is None:
            rows += wrapped(f"load: {line.load_note}", _UNDER, _UNDER)
    rows += _coming(coming, phrases)
    rows += _warm_up(line, english_words(phrases))
    if line.substitutes:
        swaps = "; ".join(f"{item.name} ({_spares(item.changes)})" for item in line.substitutes)
        rows += wrapped(f"or: {swaps}", _UNDER, _UNDER)
    return rows


def _warm_up(line: Line, words: PageWords) -> list[str]:
    said = warm_up_said(line, words)
    return wrapped(said, _UNDER, _UNDER) if said else []


def _named(line: Line, phrases: Phrasebook) -> str:
    start = load(line, phrases)
    return f"{line.name}, {start}" if start else line.name


def _by_hand(line: Line, audience: Audience) -> list[str]:
    """Return what was changed by hand; a client reads that something was, and no more."""
    if audience == "client":
        return [f"{_UNDER}set by hand"] if line.by_hand else []
    said = (f"by hand: {note.what}: {signed(note)}" for note in line.by_hand)
    return [row for each in said for row in wrapped(each, _UNDER, _UNDER)]


def _coming(coming: NextLoad | None, phrases: Phrasebook) -> list[str]:
    if coming is None:
        return []
    said = next_words(coming, phrases, lambda _, english: english)
    return wrapped(f"next: {said}", _UNDER, _UNDER)


def signed(note: HandNote) -> str:
    """Return why something was changed by hand, by whom and since when, for the coach."""
    return f"{note.reason} ({note.by}, {note.since})"


def _spares(changes: str) -> str:
    return {"equipment": "if it is taken", "joint": "if a joint complains"}.get(changes, changes)


def _load_notes(programme: Programme) -> list[str]:
    """Say each way to find a load once, with how many exercises it is for."""
    by_note: dict[str, list[str]] = {}
    for session in programme.sessions:
        for line in session.lines:
            told = (session.day, line.exercise) in programme.next_loads
            if line.load_kg is None and line.load_note and not told:
                names = by_note.setdefault(line.load_note, [])
                if line.name not in names:
                    names.append(line.name)
    counts = sorted((len(names) for names in by_note.values()), reverse=True)
    # The way of most exercises needs no names, where it is the way of most.
    usual = counts[0] if counts[:1] != counts[1:2] else 0
    return [
        sentence_case(note) if len(names) == usual else f"{', '.join(names)}: {note}"
        for note, names in sorted(by_note.items(), key=lambda item: -len(item[1]))
    ]
