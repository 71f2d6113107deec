"""`whyplan where` names the places that are really used, and what it says moves each does move it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.intake.drafts import draft_path
from assistant.knowledge import rules_directory
from assistant.records.connect import place_of

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases/four_days.yaml")


@pytest.fixture
def told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> dict[str, Path]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert main(["where", "--format", "json"]) == 0
    return {row["name"]: Path(row["place"]) for row in json.loads(capsys.readouterr().out)}


def test_the_variables_move_them(told: dict[str, Path], tmp_path: Path) -> None:
    own = {name for name, place in told.items() if place.is_relative_to(tmp_path / "data/whyplan")}
    assert own == {"data", "record", "backups", "log", "drafts", "desk", "self"}
    assert told["cache"].is_relative_to(tmp_path / "cache")
    assert told["rules"] == rules_directory()


def test_they_are_where_the_product_writes(told: dict[str, Path]) -> None:
    assert not told["data"].exists()
    start = "import sys; from assistant.cli.main import main; sys.exit(main())"
    # In processes of their own: this one may hold the rule book already.
    for typed in (
        ["client", "add", "Ines Farrow", "--case", CASE, "--as-of", "2026-01-12"],
        ["plan", CASE, "--no-week", "--log"],
    ):
        command = [sys.executable, "-c", start, *typed]
        subprocess.run(command, check=True, capture_output=True, cwd=ROOT)
    made = {path for path in told["data"].rglob("*") if path.is_file() and path.suffix != ".lock"}
    assert {told["record"], told["log"]} <= made
    assert {path.parent for path in made} <= {told["data"], told["backups"]}
    assert list(told["cache"].glob("rules-*.kb"))
    assert draft_path("Ines Farrow").parent == told["drafts"]
    assert place_of(None).backups == told["backups"]


def test_an_option_moves_the_record_and_no_password_is_shown(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["where", "--db", "postgresql://coach:hidden@db/whyplan"]) == 0
    shown = capsys.readouterr().out
    assert "postgresql+psycopg://coach:***@db/whyplan" in shown
    assert "hidden" not in shown
    assert main(["where", "--db", "no-such://x"]) == 2
