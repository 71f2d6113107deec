"""A record in a temporary folder, and the shipped rules loaded once."""

from pathlib import Path

import pytest
from record_support import FOUR_DAYS, Command

from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase


@pytest.fixture(scope="session")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return tmp_path / "data" / "records.sqlite3"


@pytest.fixture
def whyplan(record: Path) -> Command:
    """Runs a command on the record of this test; the day is 2026-01-12 unless given."""

    def run(*words: str, on: str = "2026-01-12") -> int:
        return main([*words, "--db", str(record), "--as-of", on])

    return run


@pytest.fixture
def ines(whyplan: Command, capsys: pytest.CaptureFixture[str]) -> str:
    """A client with answers and a plan; returns the handle."""
    assert whyplan("client", "add", "Ines Farrow", "--case", str(FOUR_DAYS)) == 0
    capsys.readouterr()
    return "ines-farrow"
