"""The week's sessions as a table for a coach's spreadsheet: one row an exercise."""

import csv
import io

from assistant.exchange.answers_csv import guarded
from assistant.model.programme import Line, Programme, Session

COLUMNS = (
    "day", "type", "session_minutes", "order", "exercise_id", "exercise", "sets", "measure", "low",
    "high", "reps_in_reserve", "rest_s", "load_kg", "load_note", "why", "instead",
)  # fmt: skip


def week_csv(programme: Programme) -> bytes:
    """Return the table, days and exercises in their order."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    for session in programme.sessions:
        for line in session.lines:
            writer.writerow(_row(session, line))
    return stream.getvalue().encode("utf-8-sig")


def _row(session: Session, line: Line) -> tuple[object, ...]:
    instead = "; ".join(f"{other.name} ({other.changes})" for other in line.substitutes)
    load = "" if line.load_kg is None else f"{line.load_kg:g}"
    return (
        session.day, session.type, f"{session.minutes:g}", line.order, line.exercise,
        guarded(line.name), line.sets, line.measure, line.low, line.high, line.rir, line.rest_s,
        load, guarded(line.load_note), guarded(line.reason), guarded(instead),
    )  # fmt: skip
