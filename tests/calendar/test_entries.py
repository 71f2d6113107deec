"""What a plan puts into a calendar, and what a later plan does to it.

The form is checked against RFC 5545: required properties (3.6.1), lines of at most 75 octets (3.1),
UTC stamps (3.8.7.2), alarms (3.6.6). Dates are counted by hand from the plan's day.
"""

import dataclasses
import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject

from assistant.cli.main import main
from assistant.model.case import Case
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.plan import Planner
from assistant.plan.sentences import Narrator
from assistant.report.calendar import Diary, Entry, calendar_entries
from assistant.report.ics import Heading, events, ics_bytes
from assistant.report.ics_update import updated

ROOT = Path(__file__).parents[2]
LONDON = ZoneInfo("Europe/London")
Planned = Callable[[str], tuple[Plan, Narrator]]


def _made(
    planned: Planned, programme: Programme, audience: str = "client", **diary: Any
) -> tuple[tuple[Entry, ...], Heading]:
    plan, narrator = planned(audience)
    entries = calendar_entries(
        dataclasses.replace(plan, programme=programme), narrator, Diary(**diary)
    )
    return entries, Heading("Plan", plan.case_name, narrator.on, LONDON)


def _file(entries: tuple[Entry, ...], heading: Heading) -> bytes:
    return ics_bytes(events(entries, heading), heading)


def _read(content: bytes) -> dict[str, Any]:
    return {str(e["UID"]): e for e in icalendar.Calendar.from_ical(content).walk("VEVENT")}


def test_every_session_of_the_block_is_there_with_its_exercises_and_alarm(
    planned: Planned, programme: Programme
) -> None:
    entries, heading = _made(planned, programme, start=dt.time(18, 0))
    plan, _ = planned("client")
    weeks = int(plan.facts["block.weeks"].value)  # type: ignore[arg-type]
    sessions = [entry for entry in entries if entry.kind == "session"]
    assert len(sessions) == weeks * len(programme.sessions)
    names = {"mon": 0, "tue": 1, "wed": 2, "thu": 3, "fri": 4, "sat": 5, "sun": 6}
    by_weekday = {names[session.day]: session for session in programme.sessions}
    for entry in sessions:
        session = by_weekday[entry.day.weekday()]
        assert heading.as_of <= entry.day < heading.as_of + dt.timedelta(weeks=weeks)
        assert session.minutes <= entry.minutes < session.minutes + 5
        for line in session.lines:
            assert f"{line.name}: {line.sets} x {line.low}" in entry.text
    for component in vobject.readOne(_file(entries, heading).decode()).vevent_list:
        before = dt.timedelta(hours=-1) if "session" in component.x_whyplan_slot.value else None
        assert component.valarm.trigger.value == (before or dt.timedelta(hours=9))


def test_looks_block_changes_and_check_ins_fall_on_the_plans_days(
    planned: Planned, programme: Programme
) -> None:
    plan, narrator = planned("client")
    entries, _ = _made(planned, programme, weeks=12)
    weeks = int(plan.facts["block.weeks"].value)  # type: ignore[arg-type]
    days = {kind: [e.day for e in entries if e.kind == kind] for kind in ("block", "check_in")}
    counted = [narrator.on + dt.timedelta(weeks=n * weeks) for n in range(1, 12 // weeks + 1)]
    assert days["block"] == counted
    assert [day.isoformat() for day in days["check_in"]][:1] == ["2026-01-18"]  # the first Sunday
    assert len(days["check_in"]) == 12
    (review,) = [e for e in entries if e.kind == "review"]
    assert review.day.isoformat() == plan.facts["review.next_date"].value


def test_after_the_block_the_days_stay_and_the_sheet_is_still_to_come(
    planned: Planned, programme: Programme
) -> None:
    plan, narrator = planned("client")
    weeks = int(plan.facts["block.weeks"].value)  # type: ignore[arg-type]
    end = narrator.on + dt.timedelta(weeks=weeks)
    entries, _ = _made(planned, programme, weeks=weeks + 2)
    later = [e for e in entries if e.kind == "session" and e.day >= end]
    assert len(later) == 2 * len(programme.sessions)
    assert not any("Goblet squat" in entry.text for entry in later)
    earlier = [e for e in entries if e.kind == "session" and e.day < end]
    last_day = (end - dt.timedelta(days=1)).isoformat()
    assert all("Goblet squat" in e.text and last_day in e.text for e in earlier)


def test_no_session_stands_past_the_next_safety_questions(
    kb: KnowledgeBase, planner: Planner, case: Case, programme: Programme
) -> None:
    """A withheld client is asked again after the weeks that rules/flags/ names."""
    flagged = dataclasses.replace(case, answers={**case.answers, "screen.eating_disorder": "past"})
    narrator = planner.narrator(planner.run(flagged), "client")
    plan = planner.plan(flagged, narrator, programme)
    weeks = kb.flags["eating_disorder_past"].rescreen_weeks
    assert weeks > 0
    entries = calendar_entries(plan, narrator, Diary(weeks=weeks + 4))
    (again,) = [entry.day for entry in entries if entry.kind == "screen"]
    assert again == narrator.on + dt.timedelta(weeks=weeks)
    sessions = [entry.day for entry in entries if entry.kind == "session"]
    assert sessions
    assert max(sessions) < again
    assert max(entry.day for entry in entries if entry.kind == "check_in") > again


def test_under_a_stop_nothing_stands_in_the_calendar(
    planner: Planner, case: Case, programme: Programme
) -> None:
    stopped = dataclasses.replace(
        case, answers={**case.answers, "screen.symptom_now": ("chest_pain",)}
    )
    for audience in ("client", "coach"):
        narrator = planner.narrator(planner.run(stopped), audience)  # type: ignore[arg-type]
        plan = planner.plan(stopped, narrator, programme)
        assert calendar_entries(plan, narrator, Diary()) == ()


def test_the_file_is_well_formed(planned: Planned, programme: Programme) -> None:
    content = _file(*_made(planned, programme))
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(len(row) for row in content.split(b"\r\n")) <= 75
    calendar = icalendar.Calendar.from_ical(content)
    assert calendar["VERSION"] == "2.0"
    found = calendar.walk("VEVENT")
    assert len({str(event["UID"]) for event in found}) == len(found)
    for event in found:
        assert {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE"} <= set(event)
        assert event["DTSTAMP"].dt.utcoffset() == dt.timedelta()
        assert not event.errors
    # Sorted the same by both libraries: nothing is lost on the way.
    assert {e.uid.value for e in vobject.readOne(content.decode()).vevent_list} == set(
        _read(content)
    )


def test_the_same_plan_gives_the_same_bytes(planned: Planned, programme: Programme) -> None:
    assert _file(*_made(planned, programme)) == _file(*_made(planned, programme))


def test_identity_comes_from_client_kind_and_slot_alone(
    planned: Planned, programme: Programme
) -> None:
    entries, heading = _made(planned, programme)
    other_words = tuple(
        dataclasses.replace(e, title="Else", text="Else", minutes=5) for e in entries
    )
    assert set(_read(_file(entries, heading))) == set(_read(_file(other_words, heading)))
    other_client = dataclasses.replace(heading, identity="Somebody Else")
    assert not set(_read(_file(entries, heading))) & set(_read(_file(entries, other_client)))


def test_a_later_plan_counts_up(planned: Planned, programme: Programme) -> None:
    entries, heading = _made(planned, programme)
    later = dataclasses.replace(heading, as_of=heading.as_of + dt.timedelta(days=7))
    old, new = _read(_file(entries, heading)), _read(_file(entries, later))
    assert all(int(new[uid]["SEQUENCE"]) > int(old[uid]["SEQUENCE"]) for uid in old)


def test_a_plan_that_replaces_another_calls_off_what_is_gone(
    planned: Planned, programme: Programme
) -> None:
    entries, heading = _made(planned, programme)
    old_file = _file(entries, heading)
    kept = programme.sessions[0]
    fewer = dataclasses.replace(
        programme, sessions=(dataclasses.replace(kept, lines=kept.lines[:1]),)
    )
    changed, _ = _made(planned, fewer)
    made, called_off = updated(events(changed, heading), old_file, "old.ics", heading)
    new = _read(ics_bytes(made, heading))
    weeks = len([e for e in entries if e.kind == "session"]) // len(programme.sessions)
    assert called_off == weeks * (len(programme.sessions) - 1)
    old = _read(old_file)
    assert set(new) == set(old)
    for uid, event in new.items():
        kind, _, day = str(event["X-WHYPLAN-SLOT"]).partition(" ")
        rose = int(event["SEQUENCE"]) - int(old[uid]["SEQUENCE"])
        if kind != "session":
            assert (event["STATUS"], rose) == ("CONFIRMED", 0)  # unchanged, so not counted up
        elif dt.date.fromisoformat(day).strftime("%a").lower() == kept.day:
            assert (event["STATUS"], rose) == ("CONFIRMED", 1)
        else:
            assert (event["STATUS"], rose) == ("CANCELLED", 1)
    # Once more: what was called off stays so and nothing counts up again.
    again, _ = updated(events(changed, heading), ics_bytes(made, heading), "old.ics", heading)
    assert ics_bytes(again, heading) == ics_bytes(made, heading)


def test_history_is_not_called_off(planned: Planned, programme: Programme) -> None:
    entries, heading = _made(planned, programme)
    later = dataclasses.replace(heading, as_of=heading.as_of + dt.timedelta(days=10))
    made, _ = updated([], _file(entries, heading), "old.ics", later)
    days = [event["DTSTART"].dt for event in made]
    plain = [day.date() if isinstance(day, dt.datetime) else day for day in days]
    assert plain
    assert min(plain) >= later.as_of


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "bad-calendar"),
        (b"\xff\xfe\x00", "bad-calendar"),
        (b"BEGIN:VCALENDAR\r\nEND:VEVENT\r\n", "other-calendar"),
        (
            b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
            "other-calendar",
        ),
    ],
)
def test_a_file_that_is_not_ours_is_refused_in_one_line(
    planned: Planned, programme: Programme, content: bytes, code: str
) -> None:
    _, heading = _made(planned, programme)
    with pytest.raises(InputProblems) as caught:
        updated([], content, "old.ics", heading)
    (problem,) = caught.value.problems
    assert (problem.place, problem.code) == ("old.ics", code)
    assert "\n" not in str(problem)


def test_weeks_have_a_limit(planned: Planned, programme: Programme) -> None:
    for weeks in (0, -1, 27):
        with pytest.raises(InputProblems, match="allowed: 1 to 26"):
            _made(planned, programme, weeks=weeks)


def test_no_figure_of_body_or_food_has_words_in_the_calendar(kb: KnowledgeBase) -> None:
    """The templates name days, exercises, sets, the client, the coach's load, the version; nothing else."""
    slots = set(re.findall(r"\{(\w+)\}", repr(kb.calendar)))
    allowed = {
        "client",
        "type",
        "order",
        "name",
        "sets",
        "reps",
        "rir",
        "rest",
        "load",
        "until",
        "number",
        "day",
    }
    assert slots <= allowed


def test_only_the_coach_sees_loads(planned: Planned, programme: Programme) -> None:
    first = programme.sessions[0]
    loaded = dataclasses.replace(first.lines[0], load_kg=42.5)
    week = dataclasses.replace(
        programme, sessions=(dataclasses.replace(first, lines=(loaded, *first.lines[1:])),)
    )
    texts = {
        reader: "".join(entry.text for entry in _made(planned, week, reader)[0])
        for reader in ("client", "coach")
    }
    assert "42.5" not in texts["client"]
    assert "42.5 kg" in texts["coach"]


@pytest.mark.slow
def test_the_command_writes_a_real_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The whole way: solved week, file, a later plan under a stop calls every session off."""
    first, second = tmp_path / "a.ics", tmp_path / "b.ics"
    command = ["plan", str(ROOT / "cases/four_days.yaml"), "--format", "ics", "--timezone"]
    assert main([*command, "Europe/London", "--out", str(first)]) == 0
    before = _read(first.read_bytes())
    assert sum("session" in str(e["X-WHYPLAN-SLOT"]) for e in before.values()) == 4 * 5
    stopped = (ROOT / "cases/four_days.yaml").read_text("utf-8")
    stopped = stopped.replace("screen.symptom_now: []", "screen.symptom_now: [chest_pain]")
    case = tmp_path / "stopped.yaml"
    case.write_text(stopped, "utf-8")
    again = ["plan", str(case), "--format", "ics", "--timezone", "Europe/London"]
    assert main([*again, "--out", str(second)]) == 1
    assert "No calendar" in capsys.readouterr().err
    assert not second.exists()
    assert main([*again, "--replaces", str(first), "--out", str(second)]) == 1
    after = _read(second.read_bytes())
    assert set(after) == set(before)
    assert {str(event["STATUS"]) for event in after.values()} == {"CANCELLED"}


@pytest.mark.parametrize(
    ("options", "line"),
    [
        ([], "--timezone: missing-option: "),
        (["--timezone", "Europe/Londn"], "--timezone: unknown-timezone: `Europe/Londn`"),
        (["--timezone", "/etc/passwd"], "--timezone: unknown-timezone: "),
        (["--timezone", "UTC", "--time", "6pm"], "--time: bad-time: `6pm`"),
        (
            ["--timezone", "UTC", "--weeks", "0"],
            "--weeks: out-of-range: `0` weeks; allowed: 1 to 26",
        ),
        (["--timezone", "UTC", "--replaces", "nowhere.ics"], "--no-week: not-with-replaces: "),
        (["--timezone", "UTC", "--missed", "tue"], "--missed: not-for-calendars: "),
    ],
)
def test_wrong_options_are_told_in_one_line(
    options: list[str], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    case = str(ROOT / "cases/refer_first.yaml")
    assert main(["plan", case, "--no-week", "--format", "ics", *options]) == 2
    (told,) = capsys.readouterr().err.strip().splitlines()
    assert told.startswith(line)
