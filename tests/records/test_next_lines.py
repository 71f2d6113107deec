"""After every command on a client a coach reads what comes next, as commands that can be typed."""

import shlex
from pathlib import Path

import pytest
from record_support import FOUR_DAYS, ROOT, Command

from assistant.cli.main import main

DAY = "2026-01-24"
ROWS = "day,weight_kg,session\n2026-01-12,63.5,done\n2026-01-13,63.4,done\n"


def _commands(text: str) -> list[list[str]]:
    """Return the words of each command on the last line that says what comes next."""
    line = text.strip().splitlines()[-1]
    assert line.startswith("Next: whyplan "), text
    return [shlex.split(part)[1:] for part in line.removeprefix("Next: ").split(", or ")]


@pytest.fixture
def told(whyplan: Command, ines: str, tmp_path: Path) -> str:
    path = tmp_path / "rows.csv"
    path.write_text(ROWS)
    assert whyplan("checkin", ines, "--from", str(path), on="2026-01-13") == 0
    return ines


@pytest.mark.parametrize(
    "words",
    [
        ["review", "CLIENT"],
        ["review", "CLIENT", "--accept"],
        ["today"],
        ["plan", "CLIENT", "--no-week"],
        ["week", "CLIENT"],
        ["client", "plan", "CLIENT"],
        ["client", "update", "CLIENT"],
        ["client", "away", "CLIENT", "ill", "--since", "2026-02-25"],
    ],
    ids=" ".join,
)
def test_what_comes_next_can_be_typed(
    words: list[str], whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = [told if word == "CLIENT" else word for word in words]
    capsys.readouterr()
    whyplan(*typed, on="2026-02-24")
    accepts = "--accept" in words
    for command in _commands(capsys.readouterr().out):
        # A check-in asks in a terminal; a review is accepted once, with its message or without.
        if command[0] == "checkin" or ("--accept" in command and accepts):
            continue
        accepts = accepts or "--accept" in command
        assert main([*command, "--as-of", "2026-02-24"]) in {0, 1}
        capsys.readouterr()


def test_a_check_in_from_a_file_leads_to_the_review(
    told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (command,) = _commands(capsys.readouterr().out)
    assert command[:2] == ["review", told]
    assert command[2] == "--db"


def test_what_is_for_the_client_alone_has_no_such_line(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    for words in (
        ["review", told, "--message"],
        ["review", told, "--for", "client"],
        ["plan", told, "--no-week", "--for", "client"],
        ["plan", told, "--no-week", "--format", "json"],
        ["week", told, "--log-sheet"],
    ):
        whyplan(*words, on=DAY)
        assert "Next: whyplan" not in capsys.readouterr().out, words


def test_an_accepted_review_with_a_message_keeps_the_message_clean(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert whyplan("review", told, "--accept", "--message", on=DAY) == 0
    said = capsys.readouterr()
    assert said.out.startswith("Hello Ines Farrow,")
    assert "version" not in said.out
    assert "Kept as agreed" in said.err


def test_a_review_of_a_file_leads_to_its_message(capsys: pytest.CaptureFixture[str]) -> None:
    record = ROOT / "cases/records/four_days.csv"
    assert main(["review", str(FOUR_DAYS), "--record", str(record)]) == 0
    (command,) = _commands(capsys.readouterr().out)
    assert main(command) == 0
    assert capsys.readouterr().out.startswith("Hello")


def test_under_a_stop_the_note_comes_next_and_no_sheet(
    whyplan: Command, capsys: pytest.CaptureFixture[str]
) -> None:
    case = str(ROOT / "cases" / "stop_today.yaml")
    assert whyplan("client", "add", "Stan Stop", "--case", case) == 0
    capsys.readouterr()
    assert whyplan("plan", "Stan Stop") == 1
    first, _ = _commands(capsys.readouterr().out)
    assert first[:2] == ["referral", "Stan Stop"]
