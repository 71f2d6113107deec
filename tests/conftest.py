"""The shipped rules, loaded once a process: the tests read the very book that the commands read."""

import gc
from collections.abc import Iterator
from functools import lru_cache

import pytest

from assistant.clients.book import knowledge
from assistant.knowledge import drafting
from assistant.model.knowledge import KnowledgeBase

# The shared book and plans live to the end: seldom look for what could be thrown away among them.
gc.set_threshold(50_000, 20, 50)

parsed_once = lru_cache(maxsize=2048)(drafting.parse_bytes)


@pytest.fixture(scope="session")
def kb() -> KnowledgeBase:
    return knowledge(None, None)


@pytest.fixture(scope="module", autouse=True)
def equal_files_are_parsed_once(request: pytest.FixtureRequest) -> Iterator[None]:
    """Most books that tests write are the shipped one with a line changed: the other files are known.

    In the benchmarks nothing is kept, because a first load is what they measure.
    """
    with pytest.MonkeyPatch.context() as patch:
        if request.path.parent.name != "benchmarks":
            patch.setattr(drafting, "parse_bytes", parsed_once)
        yield
