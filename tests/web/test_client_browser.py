"""Three invented people go the whole way at home in a real browser: with and without scripts, by keyboard, large.

Outside sources: Chromium (headless); WCAG 2.2 success criteria 1.4.4 (text at 200 %), 1.4.10 (reflow), 2.1.1
(keyboard), 2.4.7 (focus visible), 2.5.8 (targets of 24 by 24 CSS pixels); axe-core, Deque's reading of WCAG.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from axe_support import violations
from client_walks import fields_for
from web_support import House

from assistant.casefiles import read_case
from assistant.clients.adding import added
from assistant.clients.book import knowledge
from assistant.model.values import Status, Value
from assistant.records.store import open_records
from assistant.web.sessions import Role

Live = Callable[..., House]
ROOT = Path(__file__).parents[2]
PHONE = {"width": 390, "height": 844}
PAGES = ("/me", "/me/plan", "/me/food", "/me/people", "/me/checkin", "/me/data", "/me/changed")
# One healthy, one with figures held back, one whom a sign stops.
PEOPLE = ("four_days", "refer_first", "stop_today")
LOW = (
    "[...document.querySelectorAll('main a, main button, main summary, main input, main select')]"
    ".filter(e => e.getClientRects().length && !e.closest('p, li:not(.card)'))"
    ".map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])"
    ".filter(([_, r]) => r.height < 20 || r.width < 20).map(([text]) => text)"
)


def answers_of(name: str) -> dict[str, Value]:
    """Return the answers of a case that a form can be told."""
    case = read_case(ROOT / "cases" / f"{name}.yaml", knowledge(None, None))
    return {f: value for f, value in case.answers.items() if value is not Status.NOT_APPLICABLE}


@contextmanager
def phone(chromium: Any, place: House, **settings: Any) -> Iterator[Any]:
    """Open a page on a phone with a session, while the house runs."""
    with place.running():
        context = chromium.new_context(**{"viewport": PHONE, **settings})
        page = context.new_page()
        page.goto(place.link(Role.CLIENT))
        page.click("main button")
        page.wait_for_url("**/me")
        page.wrong = []
        page.on(
            "console", lambda told: page.wrong.append(told.text) if told.type == "error" else None
        )
        yield page
        context.close()


def at(place: House, path: str) -> str:
    return f"http://127.0.0.1:{place.port}{path}"


def fill(page: Any, fields: dict[str, Any]) -> None:
    """Answer the question that is shown."""
    main = page.locator("form.answer")
    if "do" in fields:
        main.locator(f'button[name="do"][value="{fields["do"]}"]').click()
        return
    given = fields["answer"]
    buttons = main.locator(f'button[name="answer"][value="{given}"]')
    if isinstance(given, str) and buttons.count():
        buttons.click()
        return
    if main.locator("#answer").count():
        main.locator("#answer").fill(given)
    else:
        for each in [given] if isinstance(given, str) else given:
            main.locator(f'input[name="answer"][value="{each}"]').check()
    main.locator("button.main").click()


def walk(page: Any, place: House, answers: dict[str, Value]) -> list[str]:
    """Go from the welcome to the day; return the questions that were asked."""
    page.fill("#name", "Invented Person")
    page.click("button.main")
    asked: list[str] = []
    for _ in range(300):
        page.wait_for_load_state("domcontentloaded")
        place.clock.seconds += 1.0  # a person takes longer than this for a question
        path = re.sub(r"^https?://[^/]+", "", page.url)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path
        if page.locator('button[value="read"]').count():
            page.click('button[value="read"]')
        elif path == "/me/ask":
            fact = page.locator('form.answer input[name="fact"]').get_attribute("value")
            asked.append(fact)
            fields = fields_for(fact, answers.get(fact), place.clock.today)
            fill(page, fields)
        elif path == "/me/answers":
            page.click("a.main >> nth=0")
        elif path == "/me/last":
            page.click('button[value="no"]')
        else:
            assert path.startswith("/me"), path
            return asked
    raise AssertionError("the questions do not end")


@pytest.mark.slow
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
@pytest.mark.parametrize("name", PEOPLE)
def test_three_people_get_from_the_welcome_to_their_day(
    chromium: Any, live: Live, name: str, scripts: bool
) -> None:
    place = live(alone=True)
    with phone(chromium, place, java_script_enabled=scripts) as page:
        if not scripts:
            # Without scripts the driver cannot measure; the way itself is the same.
            page.evaluate = lambda _: 0
        asked = walk(page, place, answers_of(name))
        assert asked[0] == "client.age_years"
        assert len(asked) > 30
        for path in PAGES:
            page.goto(at(place, path))
            assert page.locator("h1").count() == 1
        page.goto(at(place, "/me"))
        if name == "stop_today":
            assert page.locator("form.sets").count() == 0
            assert page.locator(".first.stop").count() == 1
            return
        if page.locator("form.sets").count():
            form = page.locator("form.sets").first
            form.locator('input[name="load_1"]').fill("20")
            form.locator('input[name="done"]').first.check()
            if scripts:
                page.locator(".kept", has_text="kept").first.wait_for()
                page.reload()
            else:
                form.locator("button").click()
            assert page.locator('form.sets input[name="done"]:checked').count() == 1
        page.click("form[action='/me/hurts'] button")
        page.fill("#answer", "wrist 2")
        page.click("button.main")
        page.wait_for_url("**/me/changed")
        if scripts:
            assert page.wrong == []


def living(place: House, name: str) -> None:
    desk = place.serving.desk()
    with open_records(str(place.record), place.clock.today) as records:
        case = read_case(ROOT / "cases" / f"{name}.yaml", desk.kb)
        added(desk, records, "Invented Person", case)


def test_a_client_s_day_on_a_phone(chromium: Any, live: Live) -> None:
    place = live(alone=True)
    living(place, "four_days")
    with phone(chromium, place) as page:
        page.goto(at(place, "/me"))
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        assert page.evaluate(LOW) == []
        page.click("p.rest button >> nth=0")
        page.locator("p.rest button", has_text=re.compile(r"^\d+:\d\d$")).first.wait_for()
        assert page.wrong == []


@pytest.mark.slow
def test_the_questions_are_answered_by_keyboard_alone(chromium: Any, live: Live) -> None:
    place = live(alone=True)
    with phone(chromium, place) as page:

        def go_to(selector: str) -> None:
            for _ in range(80):
                if page.evaluate("s => document.activeElement.matches(s)", selector):
                    edge = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                    assert edge != "none", selector
                    return
                page.keyboard.press("Tab")
            raise AssertionError(f"{selector} cannot be reached with Tab")

        go_to("#name")
        page.keyboard.type("Invented Person")
        page.keyboard.press("Enter")
        page.wait_for_url("**/me/ask")
        go_to("#answer")
        page.keyboard.type("31")
        page.keyboard.press("Enter")  # Enter goes on; it never presses another button of the form
        page.locator('button[name="answer"]').first.wait_for()
        go_to('button[name="answer"]')
        page.keyboard.press("Enter")
        page.locator("#answer").wait_for()
        go_to('button[value="back"]')
        page.keyboard.press("Space")
        page.locator("button.picked").wait_for()
        go_to("summary")
        page.keyboard.press("Enter")
        assert page.locator("details[open]").count() == 1


@pytest.mark.slow
def test_text_at_twice_the_size_stays_readable(chromium: Any, live: Live) -> None:
    place = live(alone=True)
    living(place, "refer_first")
    with phone(chromium, place, viewport={"width": 640, "height": 844}) as page:
        for path in PAGES:
            page.goto(at(place, path))
            page.evaluate("document.documentElement.style.fontSize = '200%'")
            assert page.evaluate("document.documentElement.scrollWidth") <= 640, path


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("name", PEOPLE)
def test_axe_finds_nothing_on_a_client_s_pages(
    chromium: Any, live: Live, axe: str, name: str, language: str, scheme: str
) -> None:
    place = live(alone=True, language=language)
    found: list[str] = []
    with phone(chromium, place, color_scheme=scheme, bypass_csp=True) as page:

        def look(what: str) -> None:
            found.extend(f"{what}: {each}" for each in violations(page, axe))

        look("welcome")
        page.click("button.main")
        look("a number")
        page.fill("#answer", "x")
        page.click("button.main")
        look("a wrong answer")
        page.fill("#answer", "31")
        page.click("button.main")
        look("buttons")
        living(place, name)
        for path in PAGES:
            page.goto(at(place, path))
            look(path)
        page.click("a[href='/me']")
        page.click("form[action='/me/hurts'] button")
        look("a pain")
    assert found == []
