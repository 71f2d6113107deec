"""Ways in and out: links that work once, the lock, and what stands before every page.

Outside sources: RFC 9110 (421 Misdirected Request, 405, 413, 414, 429 of RFC 6585), Fetch Metadata Request
Headers (W3C), Content Security Policy Level 3 (W3C), RFC 6265bis for SameSite; from memory.
"""

import re
from collections.abc import Callable

import httpx2 as httpx
import pytest
from web_support import BASE, House

from assistant.web.app import all_pages
from assistant.web.guard import MOST_BYTES, Rate
from assistant.web.pin import MOST_WRONG, has_pin, set_pin
from assistant.web.sessions import IDLE_SECONDS, LINK_SECONDS, Role
from assistant.web.visit import cookie_name

Make = Callable[..., House]


def test_every_page_can_be_made_and_stands_once() -> None:
    pages = all_pages()
    assert all(callable(maker) for page in pages for maker in page.makers())
    assert len({(page.path, page.posts) for page in pages}) == len(pages)


def test_a_link_opens_one_session_once(house: Make) -> None:
    place = house()
    key = place.sessions.link(Role.COACH)
    with place.visitor() as visitor:
        assert visitor.get("/desk", follow_redirects=False).headers["location"] == "/closed"
        # Looking at the link does not use it up; only the button does.
        for _ in range(2):
            shown = visitor.get(f"/start?key={key}")
            assert shown.status_code == 200
            assert key in shown.text
        assert visitor.post("/start", data={"key": key}).url.path == "/desk"
    with place.visitor() as second:
        assert second.post("/start", data={"key": key}).status_code == 403
        assert second.post("/start", data={"key": "guessed"}).status_code == 403


def test_a_second_link_in_a_browser_ends_the_first_session(house: Make) -> None:
    place = house()
    with place.visitor() as visitor:
        cookies = []
        for _ in range(2):
            visitor.post("/start", data={"key": place.sessions.link(Role.COACH)})
            cookies.append(visitor.cookies.get(cookie_name(place.serving)) or "")
    assert place.sessions.of(cookies[0]) is None
    assert place.sessions.of(cookies[1]) is not None


def test_a_link_is_over_after_a_while(house: Make) -> None:
    place = house()
    key = place.sessions.link(Role.COACH)
    place.clock.seconds += LINK_SECONDS + 1
    with place.visitor() as visitor:
        assert visitor.post("/start", data={"key": key}).status_code == 403


def test_the_cookie_is_for_this_server_and_no_script(house: Make) -> None:
    place = house()
    with place.visitor() as visitor:
        answer = visitor.post(
            "/start", data={"key": place.sessions.link(Role.COACH)}, follow_redirects=False
        )
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith("notes_127-0-0-1_8710=")
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8710", "127.0.0.1", "127.0.0.1:9999", "127.0.0.1.evil.example:8710",
     "localhost:8710.evil.example", "[::1]:8710", "127.0.0.1:8710@evil.example", ""],
)  # fmt: skip
def test_another_host_is_refused_first(house: Make, host: str) -> None:
    with house().visitor(Role.COACH) as visitor:
        answer = visitor.get("/desk", headers={"host": host})
        assert answer.status_code == 421
        assert "Clients" not in answer.text


@pytest.mark.parametrize(
    ("headers", "allowed"),
    [
        ({"sec-fetch-site": "same-origin"}, True),
        ({"sec-fetch-site": "cross-site"}, False),
        ({"sec-fetch-site": "same-site"}, False),
        ({"sec-fetch-site": "none"}, False),
        ({"sec-fetch-site": "", "origin": BASE}, False),
        ({"origin": BASE}, True),
        ({"origin": "http://localhost:8710"}, True),
        ({"origin": "https://127.0.0.1:8710"}, False),
        ({"origin": "http://evil.example"}, False),
        ({"origin": "null"}, False),
        ({}, False),
    ],
)
def test_a_form_comes_from_our_own_pages_only(
    house: Make, headers: dict[str, str], allowed: bool
) -> None:
    with house().visitor(Role.COACH) as visitor:
        del visitor.headers["sec-fetch-site"]
        answer = visitor.post("/lock", headers=headers, follow_redirects=False)
        assert answer.status_code == (303 if allowed else 403)


def test_what_every_answer_carries(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        answers: list[httpx.Response] = [
            visitor.get("/desk"), visitor.get("/nope"), visitor.get("/help"),
            visitor.get("/desk", headers={"host": "evil.example"}),
        ]  # fmt: skip
    for answer in answers:
        policy = answer.headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_limits_of_one_request(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        assert visitor.post("/lock", content=b"x" * (MOST_BYTES + 1)).status_code == 413

        def pieces() -> object:
            for _ in range(MOST_BYTES // 1000 + 2):
                yield b"x" * 1000

        kind = {"content-type": "application/x-www-form-urlencoded"}
        assert visitor.post("/lock", content=pieces(), headers=kind).status_code == 413
        assert visitor.get("/help?" + "a" * 3000).status_code == 414
        assert visitor.request("PUT", "/lock").status_code == 405
        assert (
            visitor.post(
                "/pin", content=b"{}", headers={"content-type": "application/json"}
            ).status_code
            == 415
        )


def test_more_than_a_person_sends_waits() -> None:
    now = [0.0]
    rate = Rate(lambda: now[0], a_second=2.0, most=4.0)
    assert [rate.allows("a") for _ in range(5)] == [True] * 4 + [False]
    assert rate.allows("b")
    now[0] += 0.5
    assert [rate.allows("a") for _ in range(2)] == [True, False]


def test_an_idle_screen_locks_and_opens_with_the_pin(house: Make) -> None:
    place = house()
    set_pin(place.folder, "2468")
    with place.visitor(Role.COACH) as visitor:
        assert visitor.get("/desk").url.path == "/desk"
        place.clock.seconds += IDLE_SECONDS + 1
        assert visitor.get("/desk").url.path == "/unlock"
        wrong = visitor.post("/unlock", data={"pin": "1111"})
        assert wrong.status_code == 403
        assert "That is not the PIN" in wrong.text
        assert visitor.get("/desk").url.path == "/unlock"
        assert visitor.post("/unlock", data={"pin": "2468"}).url.path == "/desk"


def test_guessing_the_pin_ends_the_session(house: Make) -> None:
    place = house()
    set_pin(place.folder, "2468")
    with place.visitor(Role.COACH) as visitor:
        visitor.post("/lock")
        for _ in range(MOST_WRONG):
            visitor.post("/unlock", data={"pin": "0000"})
        assert visitor.post("/unlock", data={"pin": "2468"}).url.path == "/closed"


def test_without_a_pin_an_idle_session_is_over(house: Make) -> None:
    place = house()
    with place.visitor(Role.COACH) as visitor:
        place.clock.seconds += IDLE_SECONDS + 1
        assert visitor.get("/desk").url.path == "/closed"


def test_the_pin_is_changed_only_with_the_one_before(house: Make) -> None:
    place = house()
    with place.visitor(Role.COACH) as visitor:
        assert visitor.post("/pin", data={"pin": "12"}).status_code == 400
        assert not has_pin(place.folder)
        assert visitor.post("/pin", data={"pin": "1234"}).url.path == "/desk"
        assert visitor.post("/pin", data={"pin": "9999"}).status_code == 400
        assert visitor.post("/pin", data={"pin": "", "old": "1234"}).url.path == "/desk"
    assert not has_pin(place.folder)
    assert not re.search(
        "1234", "".join(p.read_text("utf-8", "ignore") for p in place.folder.iterdir())
    )


def test_leaving_quickly_leaves_nothing_on_the_screen(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        left = visitor.post("/leave")
        assert left.url.path == "/blank"
        assert "Clients" not in left.text
        assert visitor.get("/desk").url.path == "/closed"


def test_help_is_there_for_everybody(house: Make) -> None:
    with house().visitor() as visitor:
        shown = visitor.get("/help").text
    assert "emergency" in shown


def test_the_neutral_title_is_the_only_one(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        pages = [visitor.get(path).text for path in ("/desk", "/help", "/pin", "/closed")]
    assert all("<title>Notes</title>" in page for page in pages)
