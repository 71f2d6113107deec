"""A coach's whole day in a browser, with eight invented clients of Harrow Lane Strength; the record afterwards."""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any

import pytest
from axe_support import violations
from coach_support import CASES, COACH, at, copied, person, put_in, with_weeks
from web_support import House, free_port

from assistant.records.noted import noted_in
from assistant.records.verify import verify
from assistant.web.sessions import Role

pytestmark = pytest.mark.slow

Make = Callable[..., House]
DAY = dt.date(2026, 3, 2)
DESKTOP, PHONE = {"width": 1280, "height": 900}, {"width": 390, "height": 844}
GYM = (
    ("Ines Farrow", "four_days", {}),
    ("Mara Stell", "four_days", {"client__sleep_hours": "7"}),
    (
        "Noor Abell",
        "four_days",
        {"screen__surgery_weeks_ago": "8", "screen__mind_taken_up": "true"},
    ),
    ("Sol Hadley", "refer_first", {}),
    ("Tove Lind", "stop_today", {}),
    ("Ada Quill", "older_lifter", {}),
    ("Wren Hale", "short_nights", {}),
    ("Kit Moran", "first_months", {}),
)


@pytest.fixture(scope="module")
def gym(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Eight people; two of them have the weeks of a record behind them."""
    place = House(tmp_path_factory.mktemp("gym"))
    for name, case, others in GYM:
        put_in(place, name, case, **others)
    place.clock.today = DAY
    for name in ("Ines Farrow", "Mara Stell"):
        with_weeks(place, name, CASES / "records" / "four_days.csv")
    return place


@pytest.fixture
def place(gym: House, live: Make) -> House:
    made = live()
    made.clock.today = DAY
    copied(gym, made)
    return made


def entered(browser: Any, place: House, **settings: Any) -> Any:
    """Open the desk in a browser window of its own."""
    page = browser.new_context(**settings).new_page()
    page.set_default_timeout(30_000)
    page.goto(place.link(Role.COACH, name=COACH))
    page.locator("button.big").click()
    page.wait_for_url("**/desk")
    return page


def decided(page: Any, button: str, reason: str) -> None:
    """Give the reason in the form that a button sends, and press it."""
    form = page.locator("form", has=page.get_by_role("button", name=button, exact=True)).last
    form.get_by_label("Why").fill(reason)
    form.get_by_role("button", name=button, exact=True).click()


def test_a_coachs_day(chromium: Any, place: House) -> None:
    with place.running():
        page = entered(chromium, place, viewport=DESKTOP)
        needs = page.locator("ol.needs h3").all_inner_texts()
        assert needs[0] == "Tove Lind"  # the screen says stop
        moves = accepts_a_review(page)
        refuses_a_review(page)
        line = edits_the_week(page, place)
        decides_and_refers(page, place)
        asked = begins_an_intake(page)
    # The server is started again, on the same folder.
    again = House(place.folder, port=free_port())
    again.clock.today = DAY
    with again.running():
        page = entered(chromium, again, viewport=PHONE)
        page.get_by_role("link", name="Perrin Oake").click()
        assert page.get_by_role("heading", level=1).inner_text() == asked
        page.get_by_role("button", name="Not sure, or leave open").click()
        page.wait_for_load_state()
        assert page.get_by_role("heading", level=1).inner_text() != asked
    told_by_the_record(again, moves, line)


def accepts_a_review(page: Any) -> list[str]:
    """Accept the review of one client; return what was said to change before."""
    page.get_by_role("link", name="Ines Farrow").click()
    page.get_by_role("navigation", name="About Ines Farrow").get_by_text("Review").click()
    moves: list[str] = page.locator("section[aria-labelledby=moves] li").all_inner_texts()
    decided(page, "Accept", "agreed with her")
    page.get_by_text("Kept as agreed: version 2 of the plan.").wait_for()
    page.get_by_role("link", name="Message to the client").click()
    assert "Ines Farrow" in page.get_by_label("The message").input_value()
    page.get_by_role("link", name="Clients", exact=True).click()
    return moves


def refuses_a_review(page: Any) -> None:
    page.get_by_role("link", name="Mara Stell").click()
    page.get_by_role("link", name="Review the weeks").first.click()
    decided(page, "Leave the plan as it is", "she moved house in these weeks")
    page.get_by_text("that is noted, and the plan stays").wait_for()


def edits_the_week(page: Any, place: House) -> str:
    """Change the sets of a line, its price first; return the line."""
    page.get_by_role("navigation", name="About Mara Stell").get_by_text("Week").click()
    page.locator(".week-lines a").first.click()
    line: str = page.get_by_role("heading", level=1).inner_text()
    form = page.locator("form", has=page.get_by_role("heading", name="Sets"))
    form.get_by_label("How many").fill("2")
    form.get_by_role("button").click()
    page.get_by_role("heading", name="What it costs", exact=True).wait_for()
    assert len(person(place, "Mara Stell").versions) == 1
    decided(page, "Keep", "saves her back for the rows")
    page.get_by_text("Kept: version 2 of the plan.").wait_for()
    assert "saves her back" in page.locator(".kept-edit").inner_text()
    return line


def decides_and_refers(page: Any, place: House) -> None:
    """Set a caution aside, and look at the note of somebody who is referred, as it is printed."""
    page.goto(f"http://127.0.0.1:{place.port}{at(place, 'Noor Abell')}")
    page.get_by_role("link", name="Decide about a warning").first.click()
    page.get_by_text("Set aside for a while").click()
    decided(page, "Keep the decision", "talked it over, asked again in four weeks")
    page.get_by_text("Kept: version 2 of the plan.").wait_for()
    page.goto(f"http://127.0.0.1:{place.port}{at(place, 'Sol Hadley')}/referral")
    page.emulate_media(media="print")
    assert "Note about Sol Hadley" in page.locator("pre.note").inner_text()
    assert not page.get_by_role("link", name="Clients").is_visible()
    page.emulate_media(media="screen")


def begins_an_intake(page: Any) -> str:
    """Answer a few questions of somebody new; return the one that is asked then."""
    page.get_by_role("link", name="New client").click()
    page.get_by_label("Name").fill("Perrin Oake")
    page.get_by_role("button", name="Begin").click()
    for _ in range(4):
        page.get_by_role("button", name="Not sure, or leave open").click()
        page.wait_for_load_state()
    asked: str = page.get_by_role("heading", level=1).inner_text()
    return asked


def told_by_the_record(place: House, moves: list[str], line: str) -> None:
    """Look at versions, who and why; and at nothing else having changed."""
    ines, mara, noor = (person(place, name) for name in ("Ines Farrow", "Mara Stell", "Noor Abell"))
    made = {
        name: [(v.cause, v.by, v.reason) for v in one.versions[1:]]
        for name, one in (("ines", ines), ("mara", mara), ("noor", noor))
    }
    assert made == {
        "ines": [("review", COACH, "agreed with her")],
        "mara": [("edit", COACH, "saves her back for the rows")],
        "noor": [("decision", COACH, "talked it over, asked again in four weeks")],
    }
    # What was shown before accepting stands afterwards.
    energy = next(row for row in moves if row.startswith("Energy to aim for"))
    shown = float(re.findall(r"→ ([\d.]+)", energy)[0])
    assert abs(ines.versions[-1].facts["energy.target_kcal_per_day"] - shown) <= 5  # shown in tens
    (edit,) = mara.case.week.edits
    assert edit.kind == "sets"
    assert edit.numbers == (2,)
    name = mara.planner.catalogue.exercises[edit.exercise].name
    assert line.startswith(name)
    assert [d.kind for d in noor.case.decisions] == ["set_aside"]
    with place.serving.desk().opened() as records:
        (note,) = noted_in(records.history(records.client("Mara Stell")))
        everybody = {client.name for client in records.clients()}
        assert verify(records).problems == ()
    assert (note.about, note.by) == ("review_refused", COACH)
    assert note.reason == "she moved house in these weeks"
    assert everybody == {name for name, *_ in GYM}
    untouched = everybody - {"Ines Farrow", "Mara Stell", "Noor Abell"}
    assert all(len(person(place, name).versions) == 1 for name in untouched)


def pages_of(place: House) -> list[str]:
    """Return every page of the desk that somebody can open, with people who have something on them."""
    ines, noor, sol = (at(place, name) for name in ("Ines Farrow", "Noor Abell", "Sol Hadley"))
    parts = ("", "/plan", "/week", "/review", "/record", "/versions", "/override", "/checkin", "/away",
             "/message", "/measures", "/calendar", "/held")  # fmt: skip
    return [
        "/desk", "/desk/new", "/desk/add", *(ines + part for part in parts), f"{ines}/week/mon/1",
        f"{ines}/week/mon", noor, f"{noor}/decide", f"{sol}/referral", f"{sol}/plan",
    ]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_desk(chromium: Any, axe: str, place: House, scheme: str) -> None:
    size = DESKTOP if scheme == "light" else PHONE
    wrong: dict[str, list[str]] = {}
    with place.running() as address:
        page = entered(chromium, place, viewport=size, color_scheme=scheme)
        for path in pages_of(place):
            answer = page.goto(address + path)
            assert answer.status == 200, path
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path
            found = violations(page, axe)
            if found:
                wrong[re.sub(r"[0-9a-f]{32}", "…", path)] = found
        more = on_the_way(page, address, place, axe)
        wrong |= {name: found for name, found in more.items() if found}
    assert wrong == {}


def on_the_way(page: Any, address: str, place: House, axe: str) -> dict[str, list[str]]:
    """Return what is wrong with pages that only a form leads to."""
    found = {}
    page.goto(f"{address}{at(place)}/week/mon/1")
    page.locator("form", has=page.get_by_role("heading", name="Leave it out")).get_by_role(
        "button"
    ).click()
    page.get_by_role("heading", name="What it costs", exact=True).wait_for()
    found["price"] = violations(page, axe)
    page.goto(f"{address}{at(place)}/override")
    page.get_by_label("New value").fill("999999")
    page.get_by_role("button", name="Show what it moves").click()
    page.get_by_role("alert").wait_for()
    found["refused"] = violations(page, axe)
    begins_an_intake(page)
    found["question"] = violations(page, axe)
    page.goto(f"{address}/desk/new")
    found["begun"] = violations(page, axe)
    return found


def test_axe_would_find_a_violation(chromium: Any, axe: str, place: House) -> None:
    with place.running():
        page = entered(chromium, place)
        page.evaluate("document.querySelector('label').remove()")
        assert any(each.startswith("label") for each in violations(page, axe))
