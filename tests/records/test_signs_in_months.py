"""What is told in check-ins reaches the kept plan, the next questions, `today` and the review that day."""

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from record_support import FOUR_DAYS, Command
from walk_support import SUNDAY, Walk

from assistant.records.asked import open_referrals
from assistant.records.projection import agreements_of, last_plan, last_word
from assistant.records.store import open_records

URGENT = [
    "screen.saddle_or_bladder_change", "screen.new_weakness", "screen.suspected_fracture",
    "screen.urgent_body_sign",
]  # fmt: skip
MOOD = ["screen.low_mood_two_weeks", "screen.self_harm_thoughts"]
LOW = ("none", *("skip",) * 5, "1", *("skip",) * 4, "finish")
CLEAR = ("no", "no", "no", "none", "finish")


@pytest.fixture
def walk(record: Path, ines: str) -> Walk:
    assert ines
    return Walk(record)


@pytest.fixture
def told(whyplan: Command, capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command and returns its text, or the reasons of `today` for the one client."""

    def run(*words: str, on: dt.date) -> Any:
        capsys.readouterr()
        whyplan(*words, on=on.isoformat())
        text = capsys.readouterr().out
        if words[0] != "today":
            return " ".join(text.split())
        (client,) = json.loads(text)["clients"]
        return {reason["finds"]: reason["text"] for reason in client["reasons"]}

    return run


def plan_of(walk: Walk) -> dict[str, Any]:
    with open_records(str(walk.record), walk.on) as records:
        plan = last_plan(records.history(records.client("ines-farrow")))
    assert plan is not None
    return plan


def flags_of(walk: Walk) -> set[str]:
    return {flag["id"] for flag in plan_of(walk)["flags"]}


def still_open(walk: Walk) -> dict[str, str | None]:
    with open_records(str(walk.record), walk.on) as records:
        lines = records.history(records.client("ines-farrow"))
    return {each.role: each.answer for each in open_referrals(lines, walk.on)}


TODAY = ("today", "--all", "--format", "json")


def test_strong_pain_rests_the_joint_until_its_questions_are_answered_clear(
    walk: Walk, told: Any
) -> None:
    walk("knee 8", *("skip",) * 10, "finish")
    assert walk.asked_at_once == URGENT  # at once, in a round of their own
    plan = plan_of(walk)
    assert plan["as_of"] == SUNDAY.isoformat()
    assert plan["facts"]["training.resting_joints"] == ["knee"]
    assert plan["facts"]["review.next_date"] <= (SUNDAY + dt.timedelta(days=7)).isoformat()
    today = told(*TODAY, on=SUNDAY)
    assert next(iter(today)) == "strong_pain"
    assert "physiotherapist" in today["referral_open"]
    review = told("review", "ines-farrow", on=SUNDAY)
    assert (
        review.partition("What to sort out first")[2]
        .lstrip(" -")
        .startswith("first.resting_joints Pain: knee")
    )
    # Left open, they come back at the next check-in, and the joint rests on.
    walk.on = SUNDAY + dt.timedelta(days=2)
    assert "questions_due" in told(*TODAY, on=walk.on)
    walk("back")
    assert [fact for fact in walk.facts if fact.startswith("screen.")] == URGENT
    assert flags_of(walk) >= {"strong_pain_unasked", "joint_pain"}
    # Answered clear: the weaker caution stays while the knee hurts that much.
    walk(*CLEAR[:-1], "skip", "skip", "knee 8", *("skip",) * 10, "finish")
    assert "joint_pain" in flags_of(walk)
    walk.on += dt.timedelta(days=1)
    # The same pain told again is a new one; asked at once, it is answered clear.
    walk(*CLEAR[:-1], "skip", "knee 3", *("skip",) * 10, "finish")
    assert not flags_of(walk) & {"strong_pain_unasked", "joint_pain"}
    assert "training.resting_joints" not in plan_of(walk)["facts"]


def test_an_answer_that_is_not_clear_stops_everything(walk: Walk, told: Any) -> None:
    walk("knee 8", *("skip",) * 10, "finish", then=("no", "yes", "no", "none", "finish"))
    assert plan_of(walk)["level"] == "stop"
    assert next(iter(told(*TODAY, on=SUNDAY))) == "screen_stop"


def test_low_mood_for_two_weeks_asks_the_question_and_names_somebody(walk: Walk, told: Any) -> None:
    walk(*LOW)
    assert "low_mood" not in flags_of(walk)
    walk.on = SUNDAY + dt.timedelta(days=7)
    walk(*LOW)
    assert walk.asked_at_once == MOOD
    assert "low_mood" in flags_of(walk)
    assert plan_of(walk)["referrals"] == [
        {"to": "physician", "urgency": "routine", "for": ["low_mood"]}
    ]
    today = told(*TODAY, on=walk.on)
    assert {"low_mood_stays", "questions_due", "referral_open"} <= set(today)
    assert "physician" in today["referral_open"]
    walk.on += dt.timedelta(days=7)
    walk("back")
    assert walk.facts[:2] == MOOD
    assert "checkin.referral_physician" in walk.facts


def test_an_open_referral_is_asked_about_until_the_answer_is_yes(walk: Walk, told: Any) -> None:
    walk(*LOW)
    walk.on = SUNDAY + dt.timedelta(days=7)
    walk(*LOW, then=("no", "no", "finish"))
    assert still_open(walk) == {"physician": None}
    for answer, kept in (("2", "not yet"), ("3", "no")):
        walk.on += dt.timedelta(days=1)
        walk(answer)
        assert walk.facts[0] == "checkin.referral_physician"
        assert "Did they see a physician?" in " ".join(walk.shown.split())
        assert still_open(walk) == {"physician": kept}
        assert "referral_open" in told(*TODAY, on=walk.on)
        assert "Still to be seen: doctor." in told("review", "ines-farrow", on=walk.on)
    walk.on += dt.timedelta(days=1)
    walk("1")
    assert still_open(walk) == {}
    assert "referral_open" not in told(*TODAY, on=walk.on)
    walk.on += dt.timedelta(days=1)
    walk("back")
    assert "checkin.referral_physician" not in walk.facts
    assert "low_mood" in flags_of(walk)  # the sign itself is closed by better days alone


def test_a_referral_stays_open_when_the_sign_is_gone(walk: Walk, told: Any) -> None:
    walk(*LOW)
    walk.on = SUNDAY + dt.timedelta(days=7)
    walk(*LOW, then=("no", "no", "finish"))
    for _ in range(2):
        walk.on += dt.timedelta(days=5)
        walk("skip", *LOW[:6], "5", *LOW[7:])
    assert "low_mood" not in flags_of(walk)
    assert still_open(walk) == {"physician": None}
    assert "referral_open" in told(*TODAY, on=walk.on)


def test_a_slip_in_the_answer_can_be_put_right(walk: Walk) -> None:
    walk(*LOW)
    walk.on = SUNDAY + dt.timedelta(days=7)
    walk(*LOW, then=("no", "no", "finish"))
    walk.on += dt.timedelta(days=1)
    walk("1", "back", "2", "2")
    assert still_open(walk) == {"physician": "not yet"}


def _weights(path: Path, first: dt.date, days: int, kg: float, kg_per_week: float) -> Path:
    rows = "".join(
        f"{first + dt.timedelta(days=n)},{kg + kg_per_week * n / 7:.2f}\n" for n in range(days)
    )
    path.write_text("date,weight (kg)\n" + rows, "utf-8")
    return path


@pytest.fixture
def cutting(
    whyplan: Command, record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> Walk:
    """The client of the record wants to lose fat, and the plan is a cut."""
    text = FOUR_DAYS.read_text("utf-8").partition("expect:")[0]
    case = tmp_path / "cut.yaml"
    case.write_text(
        text.replace("client.goal: gain_muscle", "client.goal: lose_fat")
        .replace("client.weight_kg: 63.5", "client.weight_kg: 74")
        .replace("client.goal_weight_kg: 65", "client.goal_weight_kg: 68"),
        "utf-8",
    )
    assert whyplan("client", "add", "Ines Farrow", "--case", str(case)) == 0
    walk = Walk(record, dt.date(2026, 2, 22))
    capsys.readouterr()
    return walk


def test_a_loss_over_the_safe_rate_stops_the_cut_everywhere_that_day(
    cutting: Walk, told: Any, tmp_path: Path
) -> None:
    assert plan_of(cutting)["facts"]["phase.now"] == "cut"
    first = dt.date(2026, 1, 12)
    sheet = _weights(tmp_path / "w.csv", first, 42, 74.0, -1.0)
    said = told("checkin", "ines-farrow", "--from", str(sheet), "--sure", on=cutting.on)
    assert "What was told changes what the screen says" in said
    plan = plan_of(cutting)
    assert plan["as_of"] == cutting.on.isoformat()
    assert plan["facts"]["phase.now"] == "hold"
    assert "energy_deficit" in plan["withheld"]
    assert "fast_loss" in told(*TODAY, on=cutting.on)
    review = told("review", "ines-farrow", on=cutting.on)
    assert "Two weeks at maintenance" in review
    assert "hold, and look at safety first" in review
    assert "Fat loss" not in told("phases", "ines-farrow", on=cutting.on)
    # Accepted, the sign stays, that day and while the scale says nothing new.
    assert "Kept as agreed" in told("review", "ines-farrow", "--accept", on=cutting.on)
    for later in (0, 3, 20):
        on = cutting.on + dt.timedelta(days=later)
        assert "fast_loss" in told(*TODAY, on=on), later
        assert "Two weeks at maintenance" in told("review", "ines-farrow", on=on), later
    assert "weight_loss_fast" in flags_of(cutting)


def test_steady_weeks_close_the_sign_and_food_waits_for_a_person(
    cutting: Walk, told: Any, tmp_path: Path
) -> None:
    first = dt.date(2026, 1, 12)
    falling = _weights(tmp_path / "a.csv", first, 42, 74.0, -1.0)
    told("checkin", "ines-farrow", "--from", str(falling), "--sure", on=cutting.on)
    steady = _weights(tmp_path / "b.csv", first + dt.timedelta(days=42), 49, 68.1, 0.0)
    cutting.on += dt.timedelta(days=49)
    told("checkin", "ines-farrow", "--from", str(steady), "--sure", on=cutting.on)
    assert "weight_loss_fast" not in flags_of(cutting)
    with open_records(str(cutting.record), cutting.on) as records:
        lines = records.history(records.client("ines-farrow"))
    last = agreements_of(lines, cutting.on)[-1]
    assert last.phase is None  # nothing is agreed by itself


def test_a_sudden_rise_is_asked_about_and_a_yes_sends_to_a_doctor_today(
    walk: Walk, told: Any
) -> None:
    walk("none", "sat 63.4, sun 65.6", "sat 63.4, sun 65.6", *("skip",) * 9, "finish")
    assert walk.asked_at_once == ["checkin.swelling", "checkin.breathlessness"]
    assert "sudden_gain" in told(*TODAY, on=SUNDAY)
    walk.on = SUNDAY + dt.timedelta(days=1)
    walk("none", "skip", "1", "1")
    assert "sudden_gain" not in flags_of(walk)
    assert "sudden_gain" not in told(*TODAY, on=walk.on)
    walk.on += dt.timedelta(days=1)
    walk("none", "67.8", "67.8", *("skip",) * 9, "finish", then=("1", "2", "finish"))
    plan = plan_of(walk)
    assert plan["level"] == "stop"
    assert {"to": "physician", "urgency": "same_day", "for": ["sudden_gain_signs"]} in plan[
        "referrals"
    ]
    assert next(iter(told(*TODAY, on=walk.on))) == "screen_stop"
    assert "doctor today" in told("review", "ines-farrow", "--for", "client", on=walk.on)


def test_what_was_answered_is_in_the_record(walk: Walk) -> None:
    walk("none", "sat 63.4, sun 65.6", "sat 63.4, sun 65.6", *("skip",) * 9, "finish",
         then=("1", "1", "finish"))  # fmt: skip
    with open_records(str(walk.record), SUNDAY) as records:
        stands = last_word(records.history(records.client("ines-farrow")))
    assert {(s.detail, e.value) for s, e in stands.items() if s.measure == "sign"} == {
        ("swelling", 0.0), ("breathlessness", 0.0),
    }  # fmt: skip
    assert "sudden_gain" not in flags_of(walk)


def test_a_file_may_say_who_was_seen_and_what_was_felt(
    walk: Walk, told: Any, tmp_path: Path
) -> None:
    sheet = tmp_path / "s.csv"
    sheet.write_text("date,swelling,breathless,doctor seen\n2026-01-17,yes,no,not yet\n", "utf-8")
    told("checkin", "ines-farrow", "--from", str(sheet), on=SUNDAY)
    assert ("sign", "swelling", "2026-01-17", 1.0) in walk.lines()
    assert ("referral", "physician", "2026-01-17", 0.5) in walk.lines()
    assert "sudden_gain_signs" in flags_of(walk)


def test_without_answers_what_is_told_is_kept_and_no_plan_is_made(
    whyplan: Command, record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with open_records(str(record), SUNDAY) as records:
        records.add("Bo Hale", SUNDAY)
    sheet = _weights(tmp_path / "w.csv", SUNDAY - dt.timedelta(days=3), 3, 80.0, 0.0)
    assert whyplan("checkin", "bo-hale", "--from", str(sheet), on=SUNDAY.isoformat()) == 0
    told = capsys.readouterr()
    assert "3 lines are in the record" in told.out
    assert "The plan is not made again: " in told.err
