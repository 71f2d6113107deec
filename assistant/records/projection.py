"""What a history says in the end: the last word about every spot, the last answer to a question."""

import datetime as dt
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from assistant.measure import agreement_of
from assistant.model.case import Decision, Override
from assistant.model.chain import plain_json
from assistant.model.entries import MEASURES, Entry, Measure, Spot
from assistant.model.history import (
    Agreement,
    DayNote,
    DayOfEating,
    Girth,
    GirthSite,
    History,
    LiftSet,
    Pain,
    SessionMark,
    Sign,
    SignMark,
    TopSet,
    Weighing,
)
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value
from assistant.model.wishes import WeekWishes
from assistant.records.asked import answered_on, open_referrals, pains_asked
from assistant.records.chain import ANSWERS, ENTRY, PLAN, SAID, Line, NewLine
from assistant.records.versions import agreed_facts, last_version

# Measure, day, detail, value, body: what an entry's row says.
MeasuredRow = tuple[str, dt.date, str, float | None, str]
_FINISHED = "finished"
_NOTES = ("sleep_hours", "soreness_1_to_5", "mood_1_to_5", "appetite_1_to_5")


def entry_line(entry: Entry, said_on: dt.date) -> NewLine:
    """Return an entry as a line of the history."""
    more: dict[str, Any] = {"repetitions": entry.repetitions, "reserve": entry.reserve}
    told = {name: value for name, value in more.items() if value is not None}
    if entry.others:
        told["others"] = [list(each) for each in entry.others]
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
    more = _more(line.body)
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


def history_of(lines: Iterable[Line], until: dt.date, urgent: Collection[str] = ()) -> History:
    """Return what was measured, agreed and asked up to and including a day.

    urgent: the questions about urgent signs that are asked after strong pain. A day with protein but
    no energy is kept in the record and is no day of eating here.
    """
    listed = list(lines)
    rows = (
        (line.measure, line.day, line.detail, line.value, line.body)
        for line in listed
        if line.kind == ENTRY
    )
    history = history_of_rows(rows, until)
    return replace(
        history,
        agreements=agreements_of(listed, until),
        referrals=open_referrals(listed, until),
        pains=pains_asked(history.pains, listed, urgent),
        weight_answered_on=answered_on(listed, "client.weight_kg"),
        review_on=_review_on(listed),
    )


def _review_on(lines: Iterable[Line]) -> dt.date | None:
    """Return the day the current plan set for the next look; None where it set none."""
    current = last_version(lines)
    day = None if current is None else current.facts.get("review.next_date")
    return None if day is None else dt.date.fromisoformat(day)


def history_of_rows(rows: Iterable[MeasuredRow], until: dt.date) -> History:
    """Return what rows of (measure, day, detail, value, body) say, in the order they were said."""
    last: dict[tuple[str, dt.date, str], tuple[float | None, str]] = {}
    for measure, day, detail, value, body in rows:
        last[measure, day, detail] = (value, body)
    of: dict[str, list[tuple[dt.date, str, float, str]]] = {name: [] for name in MEASURES}
    for (measure, day, detail), (value, body) in last.items():
        if value is not None and day <= until:
            of[measure].append((day, detail, value, body))
    for listed in of.values():
        listed.sort(key=lambda row: row[:2])
    protein = {day: value for day, _, value, _ in of["protein_g"]}
    return History(
        weighings=tuple(Weighing(day, value) for day, _, value, _ in of["weight_kg"]),
        girths=tuple(Girth(day, _site(site), value) for day, site, value, _ in of["girth_cm"]),
        eating=tuple(
            DayOfEating(day, value, protein.get(day)) for day, _, value, _ in of["energy_kcal"]
        ),
        top_sets=tuple(_top_set(*row) for row in of["top_set"]),
        sessions=tuple(SessionMark(day, value > 0) for day, _, value, _ in of["session"]),
        pains=tuple(Pain(day, joint, int(value)) for day, joint, value, _ in of["pain"]),
        notes=_notes(of),
        signs=tuple(SignMark(day, _sign(sign), value > 0) for day, sign, value, _ in of["sign"]),
    )


def history_of_entries(entries: Iterable[Entry]) -> History:
    """Return what entries that were never in the record say."""
    lines = (entry_line(entry, entry.day) for entry in entries)
    rows = ((line.measure, line.day, line.detail, line.value, line.body) for line in lines)
    return history_of_rows(rows, dt.date.max)


def agreements_of(lines: Iterable[Line], until: dt.date) -> tuple[Agreement, ...]:
    """Return what the kept plans agreed: food to aim for, the phase, the first block."""
    found: list[Agreement] = []
    for line in lines:
        if line.kind == PLAN and line.day <= until:
            facts, by_hand = agreed_facts(line)
            found.append(agreement_of(facts, line.day, is_first=not found, by_hand=by_hand))
    return tuple(found)


def _top_set(day: dt.date, exercise: str, load_kg: float, body: str) -> TopSet:
    return TopSet(day, exercise, load_kg, **{"repetitions": 0, **_more(body)})


def _more(body: str) -> dict[str, Any]:
    """Return what the body of an entry's line holds; lines from before all sets were told lack `others`."""
    more: dict[str, Any] = json.loads(body) if body else {}
    if "others" in more:
        more["others"] = tuple(LiftSet(*each) for each in more["others"])
    return more


def _notes(of: Mapping[str, Sequence[tuple[dt.date, str, float, str]]]) -> tuple[DayNote, ...]:
    days: dict[dt.date, dict[str, Any]] = {}
    for measure in _NOTES:
        for day, _, value, _ in of[measure]:
            whole = measure != "sleep_hours"
            days.setdefault(day, {})[measure] = int(value) if whole else value
    for day, *_ in of["cycle_start"]:
        days.setdefault(day, {})["cycle_start"] = True
    return tuple(DayNote(day, **said) for day, said in sorted(days.items()))


def _sign(detail: str) -> Sign:
    sign: Sign = detail  # type: ignore[assignment]  # the reader allows these signs only
    return sign


def _site(detail: str) -> GirthSite:
    site: GirthSite = detail  # type: ignore[assignment]  # the reader allows these sites only
    return site


def answers_line(
    answers: Mapping[str, Any],
    said_on: dt.date,
    decisions: Iterable[Decision] | None = None,
    week: WeekWishes | None = None,
    overrides: Iterable[Override] | None = None,
) -> NewLine:
    """Return answers (plain data) as a line. A session-only answer is left out whatever it was.

    decisions, week, overrides: all that are in force, wished and changed by hand from here on; None leaves the earlier
    ones standing.
    """
    kept = {fact: value for fact, value in answers.items() if fact not in SESSION_ONLY_FACTS}
    body: dict[str, Any] = {"answers": kept}
    if decisions is not None:
        body["decisions"] = [each.as_written() for each in decisions]
    if week is not None:
        body["week"] = week.as_written()
    if overrides is not None:
        body["overrides"] = [each.as_written() for each in overrides]
    return NewLine(ANSWERS, said_on, said_on, body=plain_json(body))


class Standing(NamedTuple):
    """What stands told, as plain data: answers by fact, decisions about flags, wishes, changes by hand."""

    answers: dict[str, Any]
    decisions: list[dict[str, Any]]
    week: dict[str, Any]
    overrides: list[dict[str, Any]]


def standing(lines: Iterable[Line]) -> Standing:
    """Return the answers, decisions, wishes and changes by hand that stand."""
    told = Standing({}, [], {}, [])
    for line in lines:
        if line.kind == ANSWERS:
            body = json.loads(line.body)
            told = Standing(told.answers | body["answers"], body.get("decisions", told.decisions),
                            body.get("week", told.week),
                            body.get("overrides", told.overrides))  # fmt: skip
    return told


def last_plan(lines: Iterable[Line]) -> Mapping[str, Any]:
    """Return the plan made last, as plain data; {} before the first."""
    current = last_version(lines)
    return {} if current is None else current.digest


def said_line(fact: str, value: Any, today: dt.date) -> NewLine:
    """Return an answer (its plain value) as a line of the history."""
    return NewLine(SAID, today, today, body=plain_json({"fact": fact, "value": value}))


def finished_line(today: dt.date) -> NewLine:
    """Return the line that ends a check-in: the next one of the day begins anew."""
    return NewLine(SAID, today, today, body=plain_json({_FINISHED: True}))


def said_today(lines: Iterable[Line], today: dt.date) -> dict[str, Value]:
    """Return what was answered in a check-in of today that is not finished."""
    said: dict[str, Value] = {}
    for line in lines:
        if line.kind == SAID and line.said_on == today:
            body: dict[str, Any] = json.loads(line.body)
            if _FINISHED in body:
                said = {}
            else:
                said[body["fact"]] = _value(body["value"])
    return said


def _value(raw: Any) -> Value:
    if isinstance(raw, str) and raw in set(Status):
        return Status(raw)
    value: Value = tuple(raw) if isinstance(raw, list) else raw
    return value
