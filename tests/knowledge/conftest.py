"""A small complete book, calculators for it, and ways to spoil a copy of it."""

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase

SMALL_BOOK = Path(__file__).parent / "small_book"


def _calculator(name: str, unit: str, function: Any, **inputs: str) -> SimpleNamespace:
    given = tuple(SimpleNamespace(name=n, unit=u) for n, u in inputs.items())
    return SimpleNamespace(name=name, inputs=given, unit=unit, function=function, mark="read")


@pytest.fixture(scope="session")
def calculators() -> Mapping[str, Any]:
    return {
        "body.bmi": _calculator(
            "body.bmi", "kg/m2", lambda kg, cm: kg / (cm / 100) ** 2, weight="kg", height="cm"
        ),
        "phase.add_weeks": _calculator(
            "phase.add_weeks", "date", lambda day, weeks: f"{day}+{weeks}", day="date", weeks="wk"
        ),
    }


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the small book that a test may change; its files are shown as `rules/...`."""
    folder = tmp_path / "rules"
    shutil.copytree(SMALL_BOOK, folder)
    return folder


@pytest.fixture
def edit(book: Path) -> Callable[[str, str, str], int]:
    """Replace a piece of text in a file, which must stand there once; returns its line."""

    def replace(file: str, old: str, new: str) -> int:
        path = book / file
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new), encoding="utf-8")
        return text[: text.index(old)].count("\n") + 1

    return replace


@pytest.fixture
def load(book: Path, calculators: Mapping[str, Any]) -> Callable[..., KnowledgeBase]:
    """Load the copy of the small book, without a compiled copy unless asked for."""

    def run(**options: Any) -> KnowledgeBase:
        return load_knowledge(book, **{"calculators": calculators, "use_cache": False, **options})

    return run


@pytest.fixture(scope="session")
def small(calculators: Mapping[str, Any]) -> KnowledgeBase:
    """The small book as it is."""
    return load_knowledge(SMALL_BOOK, calculators=calculators, use_cache=False)
