"""What a history says in the end: the last word about every spot, the last answer to a question."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from assistant.model.case import Decision
from assistant.model.entries import Entry, Measure, Spot
from assistant.model.history import (
    DayNote,
    DayOfEating,
    Girth,
    GirthSite,
    History,
    Pain,
    SessionMark,
    TopSet,
    Weighing,
)
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.records.chain import Line, NewLine, plain_json

ENTRY, ANSWERS, PLAN, SAID = "entry", "answers", "plan", "said"
_NOTES = ("sleep_hours", "soreness_1_to_5", "mood_1_to_5", "appetite_1_to_5")


def entry_line(entry: Entry, said_on: dt.date) -> NewLine:
    """Return an entry as a line of the history."""
    more = {"repetitions": entry.repetitions, "reserve": entry.reserve}
    told = {name: value for name, value in more.items() if value is not None}
    return NewLine(
        kind=ENTRY,
        said_on=said_on,
        day=entry.day,
        measure=entry.measure,
        detail=entry.detail,
        value=entry.value,
        body=plain_json(told) if told else "",
    )


def entry_of(line: Line) -> Entry:
    """Return the entry that a line holds."""
    more: dict[str, Any] = json.loads(line.body) if line.body else {}
    measure: Measure = line.measure  # type: ignore[assignment]  # only entry_line writes these
    return Entry(measure, line.day, line.value, line.detail, **more)


def last_word(lines: Iterable[Line]) -> dict[Spot, Entry]:
    """Return what stands for each spot: the line said last. A line taken back leaves nothing."""
    said: dict[Spot, Entry] = {}
    for line in lines:
        if line.kind == ENTRY:
            entry = entry_of(line)
            said[entry.spot] = entry
    return {spot: entry for spot, entry in said.items() if entry.value is not None}


def history_of(lines: Iterable[Line], until: dt.date) -> History:
    """Return what was measured up to and including a day, as the measuring room reads it.

    A day with protein but no energy is kept in the record and is no day of eating here.
    """
    by_measure: dict[str, list[Entry]] = {}
    entries = [e for e in last_word(lines).values() if e.day <= until]
    for entry in sorted(entries, key=lambda e: (e.day, e.detail)):
        by_measure.setdefault(entry.measure, []).append(entry)
    of = by_measure.get
    protein = {entry.day: _value(entry) for entry in of("protein_g", [])}
    return History(
        weighings=tuple(Weighing(e.day, _value(e)) for e in of("weight_kg", [])),
        girths=tuple(Girth(e.day, _site(e), _value(e)) for e in of("girth_cm", [])),
        eating=tuple(
            DayOfEating(e.day, _value(e), protein.get(e.day)) for e in of("energy_kcal", [])
        ),
        top_sets=tuple(
            TopSet(e.day, e.detail, _value(e), e.repetitions or 0, e.reserve)
            for e in of("top_set", [])
        ),
        sessions=tuple(SessionMark(e.day, _value(e) > 0) for e in of("session", [])),
        pains=tuple(Pain(e.day, e.detail, int(_value(e))) for e in of("pain", [])),
        notes=_notes(by_measure),
    )


def _notes(by_measure: Mapping[str, Sequence[Entry]]) -> tuple[DayNote, ...]:
    days: dict[dt.date, dict[str, Any]] = {}
    for measure in _NOTES:
        for entry in by_measure.get(measure, ()):
            whole = measure != "sleep_hours"
            value = _value(entry)
            days.setdefault(entry.day, {})[measure] = int(value) if whole else value
    for entry in by_measure.get("cycle_start", ()):
        days.setdefault(entry.day, {})["cycle_start"] = True
    return tuple(DayNote(day, **said) for day, said in sorted(days.items()))


def _value(entry: Entry) -> float:
    assert entry.value is not None  # last_word leaves out what was taken back
    return entry.value


def _site(entry: Entry) -> GirthSite:
    site: GirthSite = entry.detail  # type: ignore[assignment]  # the reader allows these sites only
    return site


def answers_line(
    answers: Mapping[str, Any], said_on: dt.date, decisions: Iterable[Decision] | None = None
) -> NewLine:
    """Return answers (plain data) as a line. A session-only answer is left out whatever it was.

    decisions: all that are in force from here on; None leaves the earlier ones standing.
    """
    kept = {fact: value for fact, value in answers.items() if fact not in SESSION_ONLY_FACTS}
    body: dict[str, Any] = {"answers": kept}
    if decisions is not None:
        body["decisions"] = [
            {
                each.kind: each.flag,
                "by": each.by,
                "reason": each.reason,
                "since": each.on.isoformat(),
                "until": each.until.isoformat(),
            }
            for each in decisions
        ]
    return NewLine(ANSWERS, said_on, said_on, body=plain_json(body))


def answers_of(lines: Iterable[Line]) -> tuple[dict[str, Any], list[dict[str, str]]]:
    """Return the answers that stand, as plain data, and the decisions."""
    answers: dict[str, Any] = {}
    decisions: list[dict[str, str]] = []
    for line in lines:
        if line.kind == ANSWERS:
            body = json.loads(line.body)
            answers |= body["answers"]
            decisions = body.get("decisions", decisions)
    return answers, decisions


def last_plan(lines: Iterable[Line]) -> dict[str, Any] | None:
    """Return the body of the plan made last, or None."""
    plans = [line for line in lines if line.kind == PLAN]
    if not plans:
        return None
    body: dict[str, Any] = json.loads(plans[-1].body)
    return body
