"""What the tests of the browser share: a house to visit, and Chromium where it is installed."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_support import fetched
from web_support import House, free_port


@pytest.fixture
def house(tmp_path: Path) -> Callable[..., House]:
    """Make houses in a folder of their own."""

    def make(**settings: Any) -> House:
        return House(tmp_path / "house", **settings)

    return make


@pytest.fixture
def live(tmp_path: Path) -> Callable[..., House]:
    """Make houses on a free port, to be run."""

    def make(**settings: Any) -> House:
        return House(tmp_path / "house", port=free_port(), **settings)

    return make


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """Return the machine's own Chromium, driven by playwright; skip where it is missing.

    For one file at a time: while it runs, so does an event loop, and a terminal test in the same process
    could not start one of its own.
    """
    path = shutil.which("chromium") or shutil.which("google-chrome")
    if path is None:
        pytest.skip("no Chromium on this machine")
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the script of axe-core; skip where it cannot be fetched. It is no part of the project."""
    script = fetched(tmp_path_factory.mktemp("axe"))
    if script is None:
        pytest.skip("axe-core cannot be fetched here")
    return script
