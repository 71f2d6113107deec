"""Twelve questions of a head trainer, each answered from what one to three commands print."""

from pathlib import Path

import pytest

from assistant.cli.main import main

CASES = Path(__file__).parents[2] / "cases"
FOUR_DAYS, CUT = str(CASES / "four_days.yaml"), str(CASES / "slow_cut.yaml")
EVENINGS, STOPPED = str(CASES / "two_short_evenings.yaml"), str(CASES / "stop_today.yaml")
HOUSE = """\
parameters:
  sleep.target: 8.5
changes:
  - {parameter: sleep.target, was: 8, now: 8.5, by: "Lena Marrow", day: "2026-01-05", reason: "they train late"}
"""
BY_HAND = ("--line", "food.protein", "--to", "130", "--by", "head coach", "--reason", "she counts in big steps")  # fmt: skip
# By question: the commands, and what the last of them must say. LOG, RECORD and HOUSE stand for files of the test.
QUESTIONS = {
    "why this exercise on this day": ([["why", FOUR_DAYS, "sat", "4"]], "left out on sat"),
    "why these calories": ([["why", FOUR_DAYS, "calories"]], "= energy.surplus(maintenance energy"),
    "the weakest rule behind this plan": (
        [["evidence", FOUR_DAYS]],
        "Grade practice -------------- - MUS-HOURGLASS",
    ),
    "why no surplus for him": (
        [["why-not", CUT, "surplus"]],
        "what the client wants now is lose fat, keep muscle, needed: build muscle",
    ),
    "what would give her more glute days": (
        [["flip", EVENINGS, "glutes sessions", ">=2"]],
        "minutes for one session: 35 minutes -> 45 minutes",
    ),
    "which numbers are the house's own, and who said so": (
        [["audit", FOUR_DAYS, "--house", "HOUSE"]],
        "sleep.target = 8.5 hours: set by this house, the book says 8; Lena Marrow, 2026-01-05: they train late",
    ),
    "which rule is changed by hand most": (
        [
            ["plan", FOUR_DAYS, "--no-week", "--log", "LOG"],
            ["log", "override", "1", "--log", "LOG", *BY_HAND],
            ["log", "report", "--log", "LOG"],
        ],
        "Changes by hand, by rule (1) ---------------------------- - PRO-POUND-GOAL: 1 of 1",
    ),
    "what would change if this number were another": (
        [["what-if", FOUR_DAYS, "protein.aim_per_lb=0.9"]],
        "now: Protein: 125 g a day",
    ),
    "who signed for this change": (
        [
            ["plan", FOUR_DAYS, "--no-week", "--log", "LOG"],
            ["log", "override", "1", "--log", "LOG", *BY_HAND],
            ["log", "show", "1", "--log", "LOG"],
        ],
        "food.protein 111.11298 -> 130, by head coach: she counts in big steps",
    ),
    "what stopped this client": (
        [["why", STOPPED, "stop"]],
        "Sign felt today: chest pain (screen.symptom_now; the person's own answer)",
    ),
    "what rests on judgement alone": ([["audit", FOUR_DAYS]], "VOL-022, practice (judgement)"),
    "what changed between two versions": (
        [
            ["client", "add", "Ines Farrow", "--case", FOUR_DAYS, "--db", "RECORD", "--as-of", "2026-01-12"],
            ["client", "override", "Ines Farrow", *BY_HAND, "--db", "RECORD", "--as-of", "2026-01-13"],
            ["client", "plan", "Ines Farrow", "--between", "1", "2", "--db", "RECORD", "--as-of", "2026-01-13"],
        ],
        "protein: 111 g a day -> 130 g a day",
    ),
}  # fmt: skip


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question_is_answered_by_three_commands_at_most(
    question: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    commands, answer = QUESTIONS[question]
    (tmp_path / "HOUSE").write_text(HOUSE, encoding="utf-8")
    files = {name: str(tmp_path / name) for name in ("LOG", "RECORD", "HOUSE")}
    assert len(commands) <= 3
    out = ""
    for command in commands:
        assert main([files.get(word, word) for word in command]) == 0
        out = capsys.readouterr().out
    assert answer in " ".join(out.split())
