"""A headless browser for the pages: Chromium with its driver, where both are installed."""

import importlib.util
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Yield a driver of headless Chromium, or skip with the reason."""
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    driver = shutil.which("chromedriver")
    if chromium is None or driver is None:
        pytest.skip("no Chromium with chromedriver on this machine")
    if importlib.util.find_spec("selenium") is None:
        pytest.skip("selenium is not installed")
    from selenium import webdriver  # noqa: PLC0415  only where a browser is there
    from selenium.common.exceptions import WebDriverException  # noqa: PLC0415
    from selenium.webdriver.chrome.service import Service  # noqa: PLC0415

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    profile = tmp_path_factory.mktemp("profile")
    for argument in (
        "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
        "--disable-dev-shm-usage", f"--user-data-dir={profile}",
    ):  # fmt: skip
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    try:
        opened = webdriver.Chrome(options=options, service=Service(driver))
    except WebDriverException as error:
        pytest.skip(f"the browser does not start: {str(error).splitlines()[0]}")
    yield opened
    opened.quit()


@pytest.fixture
def page_file(tmp_path: Path) -> Any:
    """Return a function that writes a page to a file and gives its address."""

    def written(html: str) -> str:
        path = tmp_path / "page.html"
        path.write_text(html, "utf-8")
        return path.as_uri()

    return written
