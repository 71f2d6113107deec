"""A record in a temporary folder, and the shipped rules loaded once."""

import shutil
from pathlib import Path

import pytest
from record_support import FOUR_DAYS, Command

from assistant.cli.main import main


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return tmp_path / "data" / "records.sqlite3"


@pytest.fixture
def whyplan(record: Path) -> Command:
    """Runs a command on the record of this test; the day is 2026-01-12 unless given."""

    def run(*words: str, on: str = "2026-01-12") -> int:
        return main([*words, "--db", str(record), "--as-of", on])

    return run


@pytest.fixture(scope="session")
def with_ines_alone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with one client, her answers and a plan; made once, because a plan costs time."""
    path = tmp_path_factory.mktemp("ines") / "records.sqlite3"
    words = ["client", "add", "Ines Farrow", "--case", str(FOUR_DAYS)]
    assert main([*words, "--db", str(path), "--as-of", "2026-01-12"]) == 0
    return path


@pytest.fixture
def ines(record: Path, with_ines_alone: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """A client in the record of this test; returns the handle."""
    record.parent.mkdir(mode=0o700)
    shutil.copy(with_ines_alone, record)
    capsys.readouterr()
    return "ines-farrow"
