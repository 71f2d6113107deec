"""The shipped rules and cases, loaded once."""

from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml"))


@pytest.fixture(scope="session")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)
