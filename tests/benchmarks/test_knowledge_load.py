"""How long the shipped rule book takes to load, first and again.

The limits are ours (a coach at a counter should not wait): 3 s the first time, 0.5 s from the
compiled copy. They are asserted on the best of a few runs, which a busy machine disturbs least.
"""

import shutil
import time
from pathlib import Path
from typing import Any

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge, rules_directory
from assistant.model.knowledge import KnowledgeBase

COLD_SECONDS, WARM_SECONDS = 3.0, 0.5


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the shipped book, so that an edit in the meantime does not spoil the measurement."""
    folder = tmp_path_factory.mktemp("book") / "rules"
    shutil.copytree(rules_directory(), folder)
    return folder


def _cold(book: Path) -> KnowledgeBase:
    return load_knowledge(book, calculators=CALCULATORS, use_cache=False)


def _warm(book: Path, folder: Path) -> KnowledgeBase:
    return load_knowledge(book, calculators=CALCULATORS, cache_directory=folder)


def _best_of(runs: int, load: Any, *arguments: Any) -> float:
    """Processor time of the fastest run: waiting for other programs does not count."""
    taken = []
    for _ in range(runs):
        start = time.process_time()
        load(*arguments)
        taken.append(time.process_time() - start)
    return min(taken)


@pytest.mark.slow
def test_both_ways_keep_within_their_limits_and_agree(book: Path, tmp_path: Path) -> None:
    cold = _warm(book, tmp_path)
    assert len(cold.rules) >= 300
    assert _best_of(2, _cold, book) < COLD_SECONDS
    assert _best_of(3, _warm, book, tmp_path) < WARM_SECONDS
    warm = _warm(book, tmp_path)
    assert warm == cold
    assert (warm.logic_hash, warm.content_hash) == (cold.logic_hash, cold.content_hash)


def test_first_load(benchmark: Any, book: Path) -> None:
    kb = benchmark.pedantic(_cold, args=(book,), rounds=3)
    assert kb.rules


def test_load_from_the_compiled_copy(benchmark: Any, book: Path, tmp_path: Path) -> None:
    _warm(book, tmp_path)
    kb = benchmark.pedantic(_warm, args=(book, tmp_path), rounds=5)
    assert kb.rules
