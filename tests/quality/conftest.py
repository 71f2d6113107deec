"""A small sound book (shared with the tests of the loader) and its one calculator."""

from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from assistant.cli.main import main
from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule

# What a command returned, printed and said on the error stream.
Run = Callable[..., tuple[int, str, str]]
SMALL_BOOK = Path(__file__).parent.parent / "knowledge" / "small_book"


@pytest.fixture(scope="session")
def calculators() -> Mapping[str, Any]:
    inputs = (SimpleNamespace(name="weight", unit="kg"), SimpleNamespace(name="height", unit="cm"))
    return {
        "body.bmi": SimpleNamespace(
            name="body.bmi",
            inputs=inputs,
            unit="kg/m2",
            mark="read",
            function=lambda weight_kg, height_cm: weight_kg / (height_cm / 100) ** 2,
        )
    }


@pytest.fixture(scope="session")
def small(calculators: Mapping[str, Any]) -> KnowledgeBase:
    return load_knowledge(SMALL_BOOK, calculators=calculators, use_cache=False)


@pytest.fixture(scope="session")
def changed(small: KnowledgeBase) -> Callable[..., Rule]:
    """A rule of the small book with some fields (in the file's form) replaced."""

    def make(rule_id: str, **fields: Any) -> Rule:
        raw = small.rules[rule_id].model_dump(mode="json", by_alias=True, exclude_unset=True)
        merged = {name: value for name, value in {**raw, **fields}.items() if value is not None}
        return Rule.model_validate(merged, strict=False)

    return make


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Types a command."""

    def type_(*arguments: object) -> tuple[int, str, str]:
        code = main([str(each) for each in arguments])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return type_


@pytest.fixture
def rules(run: Run, book: Path) -> Run:
    """Types a command about the rules of the test's own book."""
    return lambda *arguments: run("rules", *arguments, "--rules", book)
