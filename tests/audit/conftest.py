"""Shared by the tests of the log: the shipped book, and a log of ten small entries."""

from pathlib import Path

import pytest

from assistant.audit.chain import Link, sealed
from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


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
