"""The week as part of a plan: sessions in text and JSON, wishes of the coach, a missed day, a price.

How the solver works is checked in tests/programme; here it is what a reader gets. That a load found
from a recent set stays inside the two published equations (Epley 1985; Brzycki 1993) is checked in
tests/calculate.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main
from assistant.knowledge import load_knowledge

ROOT = Path(__file__).parents[2]
SHORT = ROOT / "cases/two_short_evenings.yaml"
STOPPED = ROOT / "cases/stop_today.yaml"


def _printed(command: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    code = main(command)
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def _document(path: Path, audience: str, capsys: pytest.CaptureFixture[str]) -> Any:
    command = ["plan", str(path), "--format", "json", "--for", audience]
    return json.loads(_printed(command, capsys)[1])


def _with_week(tmp_path: Path, part: str) -> Path:
    path = tmp_path / "case.yaml"
    path.write_text(SHORT.read_text("utf-8").replace("\nanswers:", f"\nweek:\n{part}\nanswers:", 1))
    return path


def test_the_json_holds_the_sessions_the_contract_names(
    capsys: pytest.CaptureFixture[str],
) -> None:
    programme = _document(SHORT, "coach", capsys)["programme"]
    assert programme["sessions"]
    for session in programme["sessions"]:
        assert set(session) == {"day", "type", "minutes", "minutes_allowed", "warm_up_s", "lines"}
        assert session["minutes"] <= session["minutes_allowed"]
        for line in session["lines"]:
            assert {"exercise", "sets", "reps", "rir", "rest_s", "reason"} <= set(line)
            assert line["reps"][0] <= line["reps"][1]
    assert {"phases", "unmet", "muscles", "not_chosen", "binding"} <= set(programme)


def test_the_client_gets_the_same_sessions_without_the_account(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for_client = _document(SHORT, "client", capsys)["programme"]
    assert set(for_client) == {"sessions", "notes"}
    assert for_client["sessions"] == _document(SHORT, "coach", capsys)["programme"]["sessions"]


def test_the_text_holds_every_line_of_every_session(capsys: pytest.CaptureFixture[str]) -> None:
    sessions = _document(SHORT, "client", capsys)["programme"]["sessions"]
    # A line that begins with an easy set bears a mark before its name.
    said = _printed(["plan", str(SHORT), "--for", "client"], capsys)[1].replace("*", " ")
    text = " ".join(said.split())
    for session in sessions:
        for line in session["lines"]:
            assert f"{session['day']} {line['order']} {line['name']}" in text
    whole = " ".join(_printed(["plan", str(SHORT), "--for", "client", "--full"], capsys)[1].split())
    for session in sessions:
        for line in session["lines"]:
            place = f"{session['day']} {line['order']} {line['name']}"
            assert f"{place}: {line['sets']} set" in whole
    assert "in reserve, rest" not in whole, "the client reads plain words"


def test_what_the_week_does_not_hold_is_said_to_both(capsys: pytest.CaptureFixture[str]) -> None:
    programme = _document(SHORT, "coach", capsys)["programme"]
    unmet, muscles = programme["unmet"], {m["muscle"] for m in programme["muscles"]}
    assert unmet, "two short evenings cannot hold everything"
    text = " ".join(_printed(["plan", str(SHORT), "--for", "coach"], capsys)[1].split())
    assert "What gives way" in text
    assert all(gap["why"].split("; ")[0][1:] in text for gap in unmet)
    text = " ".join(_printed(["plan", str(SHORT), "--for", "client"], capsys)[1].split())
    told = text.partition("What does not fit")[2].casefold()
    labels = load_knowledge().wording.labels
    # A day or an angle too few is no shortage of sets, so it is told to the coach alone.
    few = {gap["subject"] for gap in unmet if gap["kind"] in ("floor", "low", "target")}
    assert muscles & few
    for muscle in muscles & few:
        assert labels.get(muscle, muscle) in told, muscle


def test_a_stop_gives_no_sessions(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = _printed(["plan", str(STOPPED), "--format", "json"], capsys)
    assert (code, json.loads(out)["programme"]) == (1, None)
    code, out, _ = _printed(["week", str(STOPPED)], capsys)
    assert code == 1
    assert out.startswith("No week")


def test_a_recent_set_gives_a_load_and_says_from_what(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """60 kg for 8 with 2 in reserve counts as 10 to failure: Epley 80.0 kg, Brzycki 80.0 kg."""
    name = _document(SHORT, "coach", capsys)["programme"]["sessions"][0]["lines"][0]["exercise"]
    part = (
        f"  recent_sets: {{{name}: {{load_kg: 60, repetitions: 8, reserve: 2}}}}\n"
        "  minutes_on: {}\n"
    )
    lines = [
        line
        for session in _document(_with_week(tmp_path, part), "coach", capsys)["programme"][
            "sessions"
        ]
        for line in session["lines"]
        if line["exercise"] == name
    ]
    assert lines
    for line in lines:
        if "load_kg" in line:
            assert 30 < line["load_kg"] < 80
            assert line["load_note"].startswith("from 60 kg x 8 with 2 in reserve")
        else:
            assert "kilogram" in line["load_note"], "no load only where the kit has no kilograms"


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("  likes: [squat_bak_barbell]", "`squat_bak_barbell` is no exercise; did you mean"),
        ("  likes: lunge", "`likes` is `lunge`; allowed: a list of exercises"),
        ("  lieks: []", "`lieks` is no part of `week`; did you mean `likes`?"),
        ("  minutes_on: {thursday: 30}", "`thursday` is no day"),
        ("  minutes_on: {thu: 5}", "`thu` is `5`; allowed: whole minutes from 10 to 180"),
        (
            "  recent_sets: {squat_back_barbell: {load_kg: 60, repetitions: 8}}",
            "a set has load_kg, repetitions, reserve and nothing else",
        ),
        (
            "  recent_sets: {squat_back_barbell: {load_kg: -5, repetitions: 8, reserve: 1}}",
            "`load_kg` is `-5`; allowed: 0 to 600",
        ),
        (
            "  recent_sets: {squat_back_barbell: {load_kg: 60, repetitions: 8.5, reserve: 1}}",
            "`repetitions` is `8.5`; allowed: 1 to 50",
        ),
        (
            "  likes: [squat_back_barbell]\n  dislikes: [squat_back_barbell]",
            "`squat_back_barbell` is both liked and disliked; name it once",
        ),
    ],
)
def test_a_wrong_wish_is_one_clear_line_with_its_place(
    part: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = _with_week(tmp_path, part)
    code, _, err = _printed(["week", str(path)], capsys)
    assert code == 2
    assert len(err.splitlines()) == 1
    assert said in err
    assert err.startswith(f"{path}:")


def test_minutes_of_a_day_nobody_trains_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    days = {
        session["day"] for session in _document(SHORT, "coach", capsys)["programme"]["sessions"]
    }
    free = next(day for day in ("sun", "sat", "fri", "wed") if day not in days)
    code, _, err = _printed(
        ["week", str(_with_week(tmp_path, f"  minutes_on: {{{free}: 60}}"))], capsys
    )
    assert code == 2
    assert f"`{free}` is not known" in err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--missed", "someday"], "`someday` is no day; allowed: "),
        (["--about", "moonwalk"], "`moonwalk` is no exercise"),
        (["--seed", "-1"], "`-1`; allowed: 0 to 2147483647"),
    ],
)
def test_wrong_options_are_one_clear_line(
    options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = _printed(["week", str(SHORT), *options], capsys)
    assert code == 2
    assert len(err.splitlines()) == 1
    assert said in err


def test_a_missed_day_is_answered_in_the_plan(capsys: pytest.CaptureFixture[str]) -> None:
    document = _document(SHORT, "coach", capsys)
    day = document["programme"]["sessions"][0]["day"]
    code, out, _ = _printed(["plan", str(SHORT), "--missed", day], capsys)
    assert code == 0
    assert "After the missed day" in out
    after = json.loads(
        _printed(["plan", str(SHORT), "--missed", day, "--format", "json"], capsys)[1]
    )
    assert after["programme"]["sessions"] != document["programme"]["sessions"]


def test_about_says_why_an_exercise_is_not_in_the_week(capsys: pytest.CaptureFixture[str]) -> None:
    programme = _document(SHORT, "coach", capsys)["programme"]
    item = programme["not_chosen"][0]
    out = " ".join(_printed(["week", str(SHORT), "--about", item["exercise"]], capsys)[1].split())
    assert f"Not in this week: {item['why']}" in out
