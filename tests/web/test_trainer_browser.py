"""A head trainer's audit of a coach's day in a real browser: from a line to its number, and who changed what.

Outside source: axe-core for WCAG 2.2 A and AA (see axe_support.py).
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_support import violations
from coach_support import put_in
from web_support import House

from assistant.clients.kept import Why
from assistant.records.store import open_records
from assistant.web.sessions import Role

pytestmark = pytest.mark.slow

Make = Callable[..., House]
TRAINER = "Hanne Roost"


def entered(browser: Any, place: House, **settings: Any) -> Any:
    page = browser.new_context(**settings).new_page()
    page.set_default_timeout(30_000)
    page.goto(place.link(Role.TRAINER, name=TRAINER))
    page.locator("button.big").click()
    page.wait_for_url("**/desk")
    return page


def audited(place: House) -> None:
    """Two people, one with a version that a coach made with a reason."""
    put_in(place, "Ines Farrow", "four_days")
    put_in(place, "Sol Hadley", "refer_first")
    desk = place.serving.desk()
    with open_records(str(place.record), place.clock.today) as records:
        desk.add_version(records, "ines-farrow", Why("measures", "Robin Vale", "new tape"))


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "none"])
def test_from_a_plan_to_a_number_and_back(
    chromium: Any, live: Make, tmp_path: Path, scripts: bool
) -> None:
    place = live(more={"house": tmp_path / "house.yaml"})
    audited(place)
    with place.running():
        page = entered(chromium, place, java_script_enabled=scripts)
        page.get_by_role("link", name="Ines Farrow").first.click()
        page.get_by_role("link", name="Versions", exact=True).click()
        assert "Robin Vale" in page.locator("main").inner_text()
        assert "new tape" in page.locator("main").inner_text()
        page.get_by_role("link", name="Plan", exact=True).click()
        rule = page.locator('a[href="/book/rule/SLP-010"]').first
        page.goto(f"http://127.0.0.1:{place.port}{rule.get_attribute('href')}")
        assert "Sleep to aim for" in page.locator("h1").inner_text()
        page.locator('a[href^="/book/number/"]').first.click()
        page.locator('input[name="value"]').fill("8.5")
        page.locator('input[name="reason"]').fill("longer nights in winter")
        page.get_by_role("button", name="See whose plans move").click()
        shown = page.locator("main").inner_text()
        assert "Ines Farrow" in shown
        assert not (tmp_path / "house.yaml").exists(), "nothing is written before saying yes"
        page.get_by_role("button", name="Keep it").click()
        assert "8.5" in (tmp_path / "house.yaml").read_text("utf-8")
        assert TRAINER in (tmp_path / "house.yaml").read_text("utf-8")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_trainers_pages(
    chromium: Any, axe: str, live: Make, tmp_path: Path, scheme: str
) -> None:
    place = live(more={"house": tmp_path / "house.yaml"})
    audited(place)
    found = {}
    with place.running() as base:
        page = entered(chromium, place, color_scheme=scheme)
        for path in ("/book", "/book?q=sleep", "/book/rule/SLP-010", "/book/number/sleep.target",
                     "/book/check", "/log", "/help", "/pin"):  # fmt: skip
            page.goto(base + path)
            if wrong := violations(page, axe):
                found[path] = wrong
    assert found == {}
