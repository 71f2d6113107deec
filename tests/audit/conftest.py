"""Shared by the tests of the log: the shipped book, and a log of ten small entries."""

from pathlib import Path

import pytest

from assistant.audit.chain import sealed
from assistant.cli.main import main
from assistant.model.chain import Link

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def logged_cases(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of every case, in the order of their names, made by the default engine."""
    path = tmp_path_factory.mktemp("log") / "cases.jsonl"
    cases = sorted(str(case) for case in (ROOT / "cases").glob("*.yaml"))
    assert main(["plan", "--no-week", *cases, "--log", str(path)]) == 1, "one of them is a stop"
    return path


@pytest.fixture(scope="session")
def ten() -> tuple[list[bytes], list[Link]]:
    """Lines and links of ten small entries: the chain does not care what an entry says."""
    lines: list[bytes] = []
    links: list[Link] = []
    for number in range(10):
        body = {"answers": {"client.age_years": 30 + number}, "kind": "decision", "note": "é\n"}
        line, link = sealed(body, links[-1] if links else None)
        lines.append(line)
        links.append(link)
    return lines, links
