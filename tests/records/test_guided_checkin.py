"""The guided check-in: every confirmed line kept at once, taken up again, asked about, held back."""

import datetime as dt
import json
import os
import shutil
import sys
from pathlib import Path

import pytest
from record_support import FOUR_DAYS, ROOT, Command
from walk_support import SUNDAY, Walk

from assistant.clients.checkin import CheckinSession
from assistant.intake.dialogue import Ending
from assistant.intake.events import Confirmed
from assistant.intake.typed import act
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.records.chain import ANSWERS, PLAN, SAID
from assistant.records.projection import last_plan, last_word, standing
from assistant.records.store import open_records
from assistant.records.verify import verify

sys.path.insert(0, str(ROOT / "tests" / "intake"))


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


GERMAN = (
    "Knie 3", "So 63,4, Sa 63,6", "Taille 72, Hüfte 99", "Sa 2150/110", "7 Stunden 30", "2", "4",
    "wie sonst", "keine", "Mo, Di", "Kniebeuge 80 x 8 @2", "fertig",
)  # fmt: skip


def test_a_client_alone_tells_the_same_in_german(walk: Walk) -> None:
    assert walk(*WHOLE) == 0
    english = walk.lines()
    at_home = Walk(walk.record, SUNDAY + dt.timedelta(days=7), alone_in="de")
    assert at_home(*GERMAN) == 0
    a_week_later = [row for row in at_home.lines() if row not in english]
    weekly = {row[:2] + row[3:] for row in english if row[0] != "session"}
    assert {row[:2] + row[3:] for row in a_week_later if row[0] != "session"} == weekly
    days = {row[2] for row in a_week_later if row[0] == "session" and row[3] == 1.0}
    assert days == {"2026-01-19", "2026-01-20"}
    assert "Tut jetzt ein Gelenk weh" in at_home.shown


def test_the_round_that_follows_is_asked_in_german_too(walk: Walk) -> None:
    walk.alone_in = "de"
    assert walk("Knie 8", *("überspringen",) * 10, "fertig", then=("nein", "zurück")) == 0
    assert "screen.new_weakness" in walk.asked_at_once
    assert "oder beide Beine sind schwach" in " ".join(walk.shown.split())


def test_all_sets_of_a_lift_are_one_line_of_the_record(walk: Walk) -> None:
    """Typed with spaces behind the commas, as on a phone."""
    assert walk(*WHOLE[:-2], "squat 80 x 10, 10, 9 @2; mon bench press 50 x 8,8,7", "finish") == 0
    with open_records(str(walk.record), SUNDAY) as records:
        said = last_word(records.history(records.client("ines-farrow"), kinds=["entry"]))
    lifts = {spot.detail: entry for spot, entry in said.items() if spot.measure == "top_set"}
    assert [each.repetitions for each in lifts["squat_back_barbell"].sets] == [10, 10, 9]
    assert [each.reserve for each in lifts["squat_back_barbell"].sets] == [2, 2, 2]
    assert [each.repetitions for each in lifts["press_bench_barbell"].sets] == [8, 8, 7]
    assert lifts["press_bench_barbell"].day == dt.date(2026, 1, 12)


def test_a_second_checkin_of_the_day_begins_anew(walk: Walk) -> None:
    """What a finished check-in said is no reason not to ask: a knee may hurt in the evening."""
    walk(*WHOLE)
    walk("none")
    assert not any("Going on" in line for line in walk.greeting)
    assert walk.dialogue.position == 0
    assert ("pain", "knee", "2026-01-18", 3.0) in walk.lines()


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
    tiers = {
        q.fact
        for q in kb.questions
        if kb.facts[q.fact].tier in {"A", "B", "C"} and not q.fact.startswith("client.")
    }
    assert tiers <= set(walk.facts)
    first = next(f for f in walk.facts if not f.startswith("checkin."))
    assert any("safety questions are due again" in line for line in walk.greeting)
    declaration = kb.facts[first]
    worst = next(c for c in declaration.choices if c != "none")
    walk(worst.replace("_", " "))
    with open_records(str(walk.record), walk.on) as records:
        lines = records.history(records.client("ines-farrow"))
        answers = standing(lines).answers
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


def test_two_windows_at_once(walk: Walk) -> None:
    """What both say about different days is kept; about one day, the second is told and keeps none."""
    walk()
    with open_records(str(walk.record), SUNDAY) as records:
        one = CheckinSession(walk.desk, records, records.client("ines-farrow"))
        two = CheckinSession(walk.desk, records, records.client("ines-farrow"))
        one.remember(Confirmed("checkin.weights", "2026-01-18 63.4 kg"))
        two.remember(Confirmed("checkin.weights", "2026-01-17 63.6 kg"))
        one.remember(Confirmed("checkin.sleep", "7 h"))
        with pytest.raises(InputProblems, match=r"said-elsewhere.*sleep 7 h on 2026-01-18"):
            two.remember(Confirmed("checkin.sleep", "6 h"))
        assert verify(records).problems == ()
    assert set(walk.lines()) == {
        ("weight_kg", "", "2026-01-18", 63.4), ("weight_kg", "", "2026-01-17", 63.6),
        ("sleep_hours", "", "2026-01-18", 7.0),
    }  # fmt: skip
