"""The week as a sheet to train from: sessions in order, doses, loads, swaps."""

from collections.abc import Iterable

from assistant.model.kept import Unfit
from assistant.model.programme import HandNote, Line, NextLoad, Programme, Session
from assistant.model.rules import Audience
from assistant.plan.loads import load_words, next_words
from assistant.plan.phrases import Phrasebook, sentence_case, underlined, wrapped
from assistant.programme.progression import MissedSession


def sessions_text(programme: Programme, phrases: Phrasebook, audience: Audience) -> list[str]:
    """Return the rows of all sessions, then how to find and raise loads and what is left out."""
    rows: list[str] = []
    for session in programme.sessions:
        rows += underlined(session_title(session, phrases))
        for line in session.lines:
            coming = programme.next_loads.get((session.day, line.exercise))
            rows += _line(line, coming, phrases, audience)
    loads = [*_load_notes(programme), *raising_notes(programme, phrases)]
    if loads:
        rows += titled("Finding the loads", loads)
    if programme.notes:
        rows += titled("Left out on purpose", [sentence_case(note) for note in programme.notes])
    return rows


def session_title(session: Session, phrases: Phrasebook) -> str:
    """Return e.g. `Monday: lower body, about 41 of 60 minutes`."""
    day, kind = phrases.label(session.day), phrases.label(session.type)
    return f"{day}: {kind}, about {session.minutes:.0f} of {session.minutes_allowed} minutes"


def titled(title: str, points: Iterable[str]) -> list[str]:
    """Return a heading with points under it."""
    return [*underlined(title), *(row for point in points for row in wrapped(point, "- "))]


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


def dose(line: Line, audience: Audience) -> str:
    """Return sets, range and effort in the reader's words."""
    unit = "" if line.measure == "repetitions" else f" {line.measure}"
    sets = f"{line.sets} set{'s' if line.sets != 1 else ''}"
    if audience == "coach":
        effort = f"{line.rir} in reserve"
    elif line.measure != "repetitions":
        effort = "stop while it still looks good"
    else:
        effort = f"stop with {line.rir} good one{'s' if line.rir != 1 else ''} left"
    return f"{sets} of {line.low} to {line.high}{unit}, {effort}, rest {line.rest_s} s"


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
    line: Line, coming: NextLoad | None, phrases: Phrasebook, audience: Audience
) -> list[str]:
    start = load(line, phrases)
    text = f"{line.order}. {line.name}: {dose(line, audience)}{', ' + start if start else ''}"
    rows = wrapped(text, "", "   ")
    if audience == "coach":
        for note in line.by_hand:
            rows += wrapped(f"by hand: {note.what}: {signed(note)}", "   ", "   ")
        rows += wrapped(f"why: {line.reason}", "   ", "   ")
        if start and coming is None:
            rows += wrapped(f"load: {line.load_note}", "   ", "   ")
    elif line.by_hand:
        rows += wrapped("set by hand", "   ", "   ")
    if coming is not None:
        said = next_words(coming, phrases, lambda _, english: english)
        rows += wrapped(f"next: {said}", "   ", "   ")
    if line.substitutes:
        swaps = "; ".join(f"{item.name} ({_spares(item.changes)})" for item in line.substitutes)
        rows += wrapped(f"or: {swaps}", "   ", "   ")
    return rows


def signed(note: HandNote) -> str:
    """Return why something was changed by hand, by whom and since when, for the coach."""
    return f"{note.reason} ({note.by}, {note.since})"


def _spares(changes: str) -> str:
    return {"equipment": "if the kit is taken", "joint": "if a joint complains"}.get(
        changes, changes
    )


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
    most = max((len(names) for names in by_note.values()), default=0)
    return [
        sentence_case(note) if len(names) == most else f"{', '.join(names)}: {note}"
        for note, names in sorted(by_note.items(), key=lambda item: -len(item[1]))
    ]
