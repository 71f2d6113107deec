"""The guided check-in: every confirmed line kept at once, taken up again, asked about, held back."""

import argparse
import datetime as dt
import io
import json
import os
import shutil
import sys
from pathlib import Path

import pytest
from conftest import FOUR_DAYS, ROOT, Command
from hypothesis import given, settings
from hypothesis import strategies as st
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output.plain_text import PlainTextOutput

from assistant.cli.checkin_screen import Session
from assistant.intake.checkin.book import CheckinBook, Reads, checkin_book
from assistant.intake.checkin.typed_lines import Situation, day_and_rest, read_lines, written
from assistant.intake.dialogue import Ending
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.intake.screen import Screen
from assistant.intake.typed import act
from assistant.model.entries import Entry
from assistant.model.knowledge import KnowledgeBase
from assistant.records.fold import ANSWERS, PLAN, SAID, answers_of, last_plan, last_word
from assistant.records.store import open_records

sys.path.insert(0, str(ROOT / "tests" / "intake"))

SUNDAY = dt.date(2026, 1, 18)


@pytest.fixture(scope="module")
def book(kb: KnowledgeBase) -> CheckinBook:
    return checkin_book(kb)


@pytest.fixture(scope="module")
def situation(book: CheckinBook) -> Situation:
    return Situation(book, SUNDAY, (SUNDAY - dt.timedelta(days=3), SUNDAY), ("hip",))


def said(reads: Reads, text: str, situation: Situation) -> set[tuple[object, ...]]:
    found = read_lines(reads, text, situation, UnitSystem.METRIC)
    return {(e.measure, e.day.day, e.detail, e.value, e.repetitions, e.reserve) for e in found}


@pytest.mark.parametrize(
    ("reads", "text", "lines"),
    [
        ("weights", "63,4", {("weight_kg", 18, "", 63.4, None, None)}),
        ("weights", "sat 63.4; yesterday 63.4", {("weight_kg", 17, "", 63.4, None, None)}),
        ("weights", "2026-01-05 63 kg", {("weight_kg", 5, "", 63.0, None, None)}),
        ("weights", "Monday: 63", {("weight_kg", 12, "", 63.0, None, None)}),
        ("girths", "waist 72, upper arm 31", {("girth_cm", 18, "waist", 72.0, None, None),
                                              ("girth_cm", 18, "upper_arm", 31.0, None, None)}),
        ("eating", "2150/110, fri 9000 kj", {("energy_kcal", 18, "", 2150.0, None, None),
                                             ("protein_g", 18, "", 110.0, None, None),
                                             ("energy_kcal", 16, "", 9000 / 4.184, None, None)}),
        ("sleep", "7 h 30", {("sleep_hours", 18, "", 7.5, None, None)}),
        ("days", "none", set()),
        ("days", "wed", {("cycle_start", 14, "", 1.0, None, None)}),
        ("pains", "knee 3/10", {("pain", 18, "knee", 3.0, None, None),
                                ("pain", 18, "hip", 0.0, None, None)}),
        ("pains", "none", {("pain", 18, "hip", 0.0, None, None)}),
        ("sessions", "all", {("session", 15, "", 1.0, None, None),
                             ("session", 18, "", 1.0, None, None)}),
        ("sessions", "sun", {("session", 15, "", 0.0, None, None),
                             ("session", 18, "", 1.0, None, None)}),
        ("top_sets", "squat 80 x 8 @2", {("top_set", 18, "squat_back_barbell", 80.0, 8, 2.0)}),
        ("top_sets", "thu Romanian deadlift 82,5x10",
         {("top_set", 15, "rdl_barbell", 82.5, 10, None)}),
    ],
)  # fmt: skip
def test_lines_as_people_type_them(
    reads: Reads, text: str, lines: set[object], situation: Situation
) -> None:
    assert said(reads, text, situation) == lines


@pytest.mark.parametrize(
    ("reads", "text", "told"),
    [
        ("weights", "634", "not possible"),
        ("weights", "5/1 63", "two ways"),
        ("weights", "2026-02-01 63", "after today"),
        ("weights", "2026-13-01 63", "calendar"),
        ("weights", "mon 63, mon 64", "twice"),
        ("weights", "heavy", "not understood"),
        ("girths", "72", "like waist 72"),
        ("girths", "wasit 72", "did you mean `waist`"),
        ("eating", "2", "not possible"),
        ("eating", "2,150", "can mean"),
        ("sleep", "25", "not possible"),
        ("pains", "knee 11", "not possible"),
        ("pains", "knee 2.5", "not a whole number"),
        ("pains", "ear 3", "not a joint"),
        ("sessions", "mon 5", "not a day"),
        ("top_sets", "squad 80 x 8", "not in the book"),
        ("top_sets", "squat 80", "write it like"),
        ("top_sets", "squat 80 x 90", "not possible"),
        ("top_sets", "squat 80 x 8 @20", "not possible"),
    ],
)
def test_what_cannot_be_read_is_told_in_one_line(
    reads: Reads, text: str, told: str, situation: Situation
) -> None:
    with pytest.raises(Refusal) as caught:
        read_lines(reads, text, situation, UnitSystem.METRIC)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


@settings(max_examples=60, deadline=None)
@given(
    reads=st.sampled_from(["weights", "girths", "eating", "top_sets"]),
    rows=st.lists(st.tuples(st.integers(0, 13), st.floats(41, 149)), min_size=1, max_size=5,
             unique_by=lambda pair: pair[0]),
)  # fmt: skip
def test_what_is_shown_reads_back_as_the_same(
    reads: Reads, rows: list[tuple[int, float]], situation: Situation
) -> None:
    entries: list[Entry] = []
    for back, value in rows:
        day = SUNDAY - dt.timedelta(days=back)
        if reads == "weights":
            entries.append(Entry("weight_kg", day, value))
        elif reads == "girths":
            entries.append(Entry("girth_cm", day, value, "waist"))
        elif reads == "eating":
            entries += [Entry("energy_kcal", day, value * 20), Entry("protein_g", day, value)]
        else:
            entries.append(Entry("top_set", day, value, "leg_press", 8, 1.5))
    back_again = read_lines(reads, written(entries, reads), situation, UnitSystem.METRIC)
    assert [e.spot for e in back_again] == [e.spot for e in entries]
    for ours, theirs in zip(entries, back_again, strict=True):
        assert theirs.value == pytest.approx(ours.value, rel=1e-9)
        assert (theirs.repetitions, theirs.reserve) == (ours.repetitions, ours.reserve)


def test_a_weekday_is_the_last_one_up_to_today() -> None:
    """Compared with the calendar of the standard library."""
    names = ("Monday", "tue", "weds", "thurs", "friday", "sat", "SUN")
    for number, name in enumerate(names):
        day, rest = day_and_rest(f"{name} 63.4", SUNDAY)
        assert day.weekday() == number
        assert 0 <= (SUNDAY - day).days <= 6
        assert rest == "63.4"


class Walk:
    """One check-in through the real screen, with typed keys, on a real record."""

    def __init__(self, record: Path, on: dt.date = SUNDAY) -> None:
        self.record, self.on = record, on
        self.shown = ""

    def __call__(self, *lines: str, name: str = "ines-farrow") -> int:
        args = argparse.Namespace(
            rules=None, house=None, engine=None, as_of=self.on.isoformat(), imperial=False,
            alone=False, db=str(self.record), name=name,
        )  # fmt: skip
        out = io.StringIO()
        with open_records(str(self.record), self.on) as records:
            session = Session(args, records, records.client(name))
            self.facts = [slot.fact for slot in session.checkin.form.slots]
            self.greeting = session.greeting()
            self.dialogue = session.dialogue()
            with create_pipe_input() as pipe:
                pipe.send_text("".join(line + "\r" for line in lines) + "\x03")
                screen = Screen(session.remember, pipe, PlainTextOutput(out))
                last, ending = screen.run(session.dialogue())
            self.ending = ending
            self.code = session.ended(last, ending)
        self.shown = out.getvalue()
        return self.code

    def lines(self) -> list[tuple[str, str, str, float | None]]:
        with open_records(str(self.record), self.on) as records:
            history = records.history(records.client("ines-farrow"), kinds=["entry"])
        return [
            (e.measure, e.detail, e.day.isoformat(), e.value) for e in last_word(history).values()
        ]


@pytest.fixture
def walk(record: Path, ines: str) -> Walk:
    assert ines
    return Walk(record)


WHOLE = (
    "knee 3", "sun 63.4, sat 63,6", "waist 72, hip 99", "sat 2150/110", "7 h 30", "2", "4", "3",
    "none", "mon, tue", "squat 80 x 8 @2", "finish",
)  # fmt: skip


def test_a_whole_checkin(walk: Walk) -> None:
    assert walk(*WHOLE) == 0
    assert walk.ending is Ending.FINISHED
    assert set(walk.lines()) == {
        ("pain", "knee", "2026-01-18", 3.0),
        ("weight_kg", "", "2026-01-18", 63.4), ("weight_kg", "", "2026-01-17", 63.6),
        ("girth_cm", "waist", "2026-01-18", 72.0), ("girth_cm", "hip", "2026-01-18", 99.0),
        ("energy_kcal", "", "2026-01-17", 2150.0), ("protein_g", "", "2026-01-17", 110.0),
        ("sleep_hours", "", "2026-01-18", 7.5), ("soreness_1_to_5", "", "2026-01-18", 2.0),
        ("mood_1_to_5", "", "2026-01-18", 4.0), ("appetite_1_to_5", "", "2026-01-18", 3.0),
        ("session", "", "2026-01-12", 1.0), ("session", "", "2026-01-13", 1.0),
        ("session", "", "2026-01-15", 0.0), ("session", "", "2026-01-17", 0.0),
        ("top_set", "squat_back_barbell", "2026-01-18", 80.0),
    }  # fmt: skip


def test_leaving_keeps_what_was_confirmed_and_goes_on_there(walk: Walk) -> None:
    assert walk("none", "63.4") == 0  # then Ctrl-C
    assert walk.ending is Ending.SAVED
    assert walk.lines() == [("weight_kg", "", "2026-01-18", 63.4)]
    walk("waist 72")
    assert any("where you left" in line for line in walk.greeting)
    assert "Body weights" not in walk.shown
    assert ("girth_cm", "waist", "2026-01-18", 72.0) in walk.lines()


def test_a_corrected_answer_takes_its_old_lines_back(walk: Walk) -> None:
    walk("none", "mon 63.4, tue 63.6", "back", "tue 63.6, wed 63.5")
    assert set(walk.lines()) == {
        ("weight_kg", "", "2026-01-13", 63.6), ("weight_kg", "", "2026-01-14", 63.5),
    }  # fmt: skip


def test_what_the_record_says_already_is_asked_about(walk: Walk) -> None:
    walk(*WHOLE)
    walk.on = SUNDAY + dt.timedelta(days=1)
    walk("none", "sun 63.9", "skip", "skip")
    assert "already says body weight 63.4 kg" in walk.shown.replace("\n", " ")
    assert ("weight_kg", "", "2026-01-18", 63.4) in walk.lines()  # "skip" left it
    walk("sun 63.9", "sun 63.9") if "checkin.weights" in walk.facts else None
    walk.on = SUNDAY + dt.timedelta(days=2)
    walk("none", "sun 63.9", "sun 63.9")
    assert ("weight_kg", "", "2026-01-18", 63.9) in walk.lines()


def test_a_jump_and_an_impossible_value_are_asked_about(walk: Walk) -> None:
    walk("none", "sat 63.4, 73.4", "sat 63.4, 63.3")
    assert "is that right" in " ".join(walk.shown.split())
    assert {value for *_, value in walk.lines()} == {63.4, 63.3}
    walk.on = SUNDAY + dt.timedelta(days=1)
    walk("none", "634", "63.5")
    assert "not possible" in walk.shown


def test_pain_that_is_not_named_again_has_gone(walk: Walk) -> None:
    walk("knee 6, hip 2")
    walk.on = SUNDAY + dt.timedelta(days=7)
    walk("hip 3")
    assert set(walk.lines()) == {
        ("pain", "knee", "2026-01-18", 6.0), ("pain", "hip", "2026-01-18", 2.0),
        ("pain", "knee", "2026-01-25", 0.0), ("pain", "hip", "2026-01-25", 3.0),
    }  # fmt: skip


def test_what_the_screen_holds_back_is_not_asked_for(
    whyplan: Command, record: Path, tmp_path: Path
) -> None:
    case = tmp_path / "case.yaml"
    text = FOUR_DAYS.read_text("utf-8").partition("expect:")[0]
    case.write_text(
        text.replace("eating_disorder: never", "eating_disorder: current_no_care"), "utf-8"
    )
    assert whyplan("client", "add", "Ines Farrow", "--case", str(case)) == 0
    walk = Walk(record)
    walk()
    asked = {fact for fact in walk.facts if fact.startswith("checkin.")}
    assert "checkin.pain" in asked
    assert not asked & {"checkin.weights", "checkin.girths", "checkin.eating"}


def test_safety_questions_come_back_and_change_the_plan(walk: Walk, kb: KnowledgeBase) -> None:
    walk.on = dt.date(2026, 1, 12) + dt.timedelta(weeks=12) - dt.timedelta(days=1)
    walk()
    assert all(fact.startswith("checkin.") for fact in walk.facts)
    walk.on += dt.timedelta(days=1)
    walk()
    tiers = {q.fact for q in kb.questions if kb.facts[q.fact].tier in {"A", "B", "C"}}
    assert tiers <= set(walk.facts)
    first = next(f for f in walk.facts if not f.startswith("checkin."))
    assert any("safety questions are due again" in line for line in walk.greeting)
    declaration = kb.facts[first]
    worst = next(c for c in declaration.choices if c != "none")
    walk(worst.replace("_", " "))
    with open_records(str(walk.record), walk.on) as records:
        lines = records.history(records.client("ines-farrow"))
        answers, _ = answers_of(lines)
        plan = last_plan(lines)
    assert worst in answers[first]
    assert plan is not None
    assert plan["as_of"] == walk.on.isoformat()
    assert plan["level"] != "none"
    assert lines[-1].kind == PLAN
    walk()  # what was answered today is not asked again
    assert first not in walk.facts


def test_a_session_only_answer_is_in_no_line(walk: Walk) -> None:
    walk.on = dt.date(2026, 1, 12) + dt.timedelta(weeks=13)
    walk()
    dialogue, steps = walk.dialogue, []
    while dialogue.slot.fact != "screen.self_harm_thoughts":
        dialogue = act(dialogue, "skip").dialogue
        steps.append("skip")
    assert walk(*steps, "yes", "") == 1
    assert walk.ending is Ending.ASIDE
    with open_records(str(walk.record), walk.on) as records:
        lines = records.history(records.client("ines-farrow"))
    assert not any("self_harm" in line.body for line in lines if line.kind in {ANSWERS, SAID})


def test_without_a_terminal_there_is_one_clear_line(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert whyplan("checkin", ines) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "--from" in told


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")
def test_a_kill_in_a_real_terminal_loses_the_unconfirmed_line_alone(
    record: Path, ines: str, tmp_path: Path
) -> None:
    from tmux_pane import Pane  # noqa: PLC0415 - stands in another folder of tests

    pane = Pane(tmp_path)
    command = [sys.executable, "-m", "assistant.cli.main", "checkin", ines, "--db", str(record)]
    command += ["--as-of", SUNDAY.isoformat()]
    environment = {"PYTHONPATH": str(ROOT), "NO_COLOR": "1", "TERM": "screen"}
    environment |= {key: os.environ[key] for key in ("XDG_CACHE_HOME", "HOME") if key in os.environ}
    try:
        pane.start(command, environment)
        pane.wait_for("Any pain at a joint now")
        pane.type("none")
        pane.wait_for("Body weights since last time")
        pane.type("63.4")
        pane.wait_for("Any girths measured today")
        pane.type("waist 7", key=None)
        pane.wait_for("> waist 7")
        pane.kill()
    finally:
        pane.close()
    assert Walk(record).lines() == [("weight_kg", "", "2026-01-18", 63.4)]


def test_the_history_tells_what_was_said(walk: Walk, whyplan: Command) -> None:
    walk(*WHOLE)
    with open_records(str(walk.record), SUNDAY) as records:
        lines = records.history(records.client("ines-farrow"), kinds=[SAID])
    bodies = [json.loads(line.body) for line in lines]
    assert bodies[0] == {"fact": "checkin.pain", "value": "knee 3"}
    assert bodies[-1] == {"finished": True}
    assert whyplan("client", "check") == 0
