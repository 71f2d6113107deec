"""The next loads a client's record calls for: the same on the sheet, the client's page, the text, the JSON."""

import json
from pathlib import Path

import pytest
from programme.documents import rows
from record_support import Command

from assistant.cli.main import main
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import localised, read_language

DAY = "2026-01-24"
SETS = """day,exercise,sets
2026-01-19,Hip thrust machine,"80x12,12,12,12@2"
2026-01-20,bench press,50x12@2
2026-01-20,Neutral-grip lat pulldown,"45x7,7,8@1"
"""
SAID = (
    "85 kg: every set reached 12, so one step more.",
    "52.5 kg if every set reached 12 with 2 left; else 50 kg again.",
    "42.5 kg: 2 sets ended under 8, so one step less.",
)


@pytest.fixture
def told(whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    path = tmp_path / "sets.csv"
    path.write_text(SETS)
    assert whyplan("checkin", ines, "--from", str(path), on=DAY) == 0
    capsys.readouterr()
    return ines


def _shown(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_every_view_says_the_same(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert whyplan("week", told, on=DAY) == 0
    sheet = _shown(capsys)
    assert whyplan("plan", told, "--for", "client", on=DAY) == 0
    text = _shown(capsys)
    assert whyplan("plan", told, "--for", "client", "--format", "html", on=DAY) == 0
    page = _shown(capsys)
    for said in SAID:
        assert f"next: {said}" in sheet
        assert f"next: {said}" in text
        assert f'<span class="next">{said}</span>' in page
    assert "Next time add the smallest step." in text
    assert "Next time add the smallest step." in page
    assert whyplan("plan", told, "--format", "json", on=DAY) == 0
    plan = json.loads(capsys.readouterr().out)
    lines = [line for session in plan["programme"]["sessions"] for line in session["lines"]]
    thrust = next(line for line in lines if line["exercise"] == "thrust_machine")
    assert (thrust["load_kg"], thrust["load_note"]) == (85, SAID[0])


def test_the_table_and_the_calendar_carry_the_same_loads(
    whyplan: Command, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "week.csv"
    words = ["exchange", "export", "--to", "csv", "--what", "week", told, "--out", str(out)]
    assert whyplan(*words, on=DAY) == 0
    assert "85 kg: every set reached 12" in out.read_text("utf-8-sig")
    zone = ("--format", "ics", "--timezone", "Europe/London", "--out", str(tmp_path / "w.ics"))
    assert whyplan("plan", told, *zone, on=DAY) == 0
    assert "85 kg" in (tmp_path / "w.ics").read_text("utf-8").replace("\n ", "")
    capsys.readouterr()


def test_an_illness_is_followed_by_a_lighter_week_and_then_a_little_less(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    away = ("client", "away", told, "ill", "--since", "2026-01-25", "--until", "2026-01-31")
    assert whyplan(*away, on=DAY) == 0
    assert whyplan("week", told, on="2026-02-03") == 0
    assert "next: 70 kg: lighter on purpose this week." in _shown(capsys)
    assert whyplan("week", told, on="2026-02-08") == 0
    assert "after the lighter week" in _shown(capsys)
    assert whyplan("week", told, *("--log-sheet",), on="2026-01-28") == 0
    assert "lighter week: fewer sets" in _shown(capsys)


def test_the_client_s_language_and_units(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    client = ("plan", told, "--for", "client")
    assert whyplan(*client, "--format", "html", "--language", "de", on=DAY) == 0
    assert "52,5 kg, wenn jeder Satz 12 erreicht hat und 2 übrig waren" in _shown(capsys)
    assert whyplan(*client, "--imperial", on=DAY) == 0
    assert "next: 187 lb: every set reached 12, so one step more." in _shown(capsys)


def test_what_was_told_comes_before_what_the_coach_gave(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The case gives no recent sets for the bench; before anything is told the load is to be found."""
    assert whyplan("week", told, on="2026-01-12") == 0
    assert "next:" not in _shown(capsys)


def test_a_logged_week_is_the_solved_one_and_replays(
    whyplan: Command, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.jsonl"
    assert whyplan("plan", told, "--log", str(log), on=DAY) == 0
    assert SAID[0] in _shown(capsys)
    assert main(["log", "replay", "--week", "--log", str(log)]) == 0


def test_what_is_silent_is_silent_in_every_language(kb: KnowledgeBase) -> None:
    german = localised(kb, read_language(kb, "de"))
    assert kb.plan.silent
    assert german.plan.silent == kb.plan.silent
    assert german.plan.silent_under == kb.plan.silent_under


def test_a_joint_that_hurts_holds_the_loads_on_it(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert whyplan("plan", ines, "--format", "json", on="2026-01-12") == 0
    plan = json.loads(capsys.readouterr().out)
    lines = [line for session in plan["programme"]["sessions"] for line in session["lines"]]
    # Which lift of the legs the week holds is its own business; this one loads the knee and goes in kilograms.
    leg = next(
        line["name"]
        for line in lines
        if "knee" in rows()[line["exercise"]]["joint_stress"]
        and rows()[line["exercise"]]["loadability"] == 3
    )
    path = tmp_path / "sets.csv"
    path.write_text(
        "day,exercise,sets,joint,pain 0 to 10\n"
        f'2026-01-19,{leg},"80x12,12,12,12@2",knee,4\n'
        '2026-01-20,bench press,"50x12,12,12,12@2",,\n'
    )
    assert whyplan("checkin", ines, "--from", str(path), on=DAY) == 0
    capsys.readouterr()
    assert whyplan("week", ines, on=DAY) == 0
    shown = _shown(capsys)
    assert "next: 80 kg again: no more load while a joint it works on hurts." in shown
    assert "next: 52.5 kg: every set reached 12, so one step more." in shown
