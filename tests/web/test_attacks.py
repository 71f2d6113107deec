"""Who reaches which page, and what broken, foreign and hostile requests do: nothing.

Outside sources: OWASP Application Security Verification Standard 4 (access control at one place, deny by
default; no details of errors shown; limits of requests), from memory.
"""

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from lengths import at_length
from starlette.testclient import TestClient
from web_support import House, with_clients

from assistant.web.app import all_pages, pages_of
from assistant.web.sessions import Role
from assistant.web.visit import EVERYBODY, Page

ROOT = Path(__file__).parents[2]
Make = Callable[..., House]
ROLES = (None, Role.CLIENT, Role.COACH, Role.TRAINER)
# The pages that end a session, or a client: tried by the tests that are about them.
ENDS = {"/leave", "/lock"}


def asked(visitor: TestClient, page: Page, values: dict[str, str], **form: str) -> object:
    path = re.sub(r"\{(\w+)(:\w+)?\}", lambda m: values.get(m[1], "x"), page.path)
    if page.posts:
        return visitor.post(path, data=form, follow_redirects=False)
    return visitor.get(path, follow_redirects=False)


@pytest.mark.parametrize("role", ROLES)
def test_every_page_is_closed_to_every_role_that_is_not_named(
    house: Make, role: Role | None
) -> None:
    place = house()
    (token,) = with_clients(place, "four_days")
    closed = [p for p in pages_of(place.serving) if p.roles != EVERYBODY and role not in p.roles]
    assert closed
    with place.visitor(role, client=token) as visitor:
        for page in closed:
            answer = asked(visitor, page, {"client": token})
            status = answer.status_code  # type: ignore[attr-defined]
            if role is None:
                away = answer.headers.get("location")  # type: ignore[attr-defined]
                assert (status, away) == (303, "/closed") or status == 403, page.path
            else:
                assert status == 404, page.path
            assert "Client Number0" not in answer.text  # type: ignore[attr-defined]


def test_no_page_of_a_client_takes_a_client_from_the_address() -> None:
    for page in all_pages():
        if Role.CLIENT in page.roles:
            assert "{client" not in page.path, page.path


def test_a_client_never_sees_another(house: Make) -> None:
    """Whatever a client sends along, what comes back is about themselves."""
    place = house()
    first, second = with_clients(place, "four_days", "older_lifter")
    mine = [p for p in all_pages() if Role.CLIENT in p.roles and not p.posts]
    assert mine
    with place.visitor(Role.CLIENT, client=first) as visitor:
        visitor.cookies.set("client", second)
        for page in mine:
            path = re.sub(r"\{\w+(:\w+)?\}", second, page.path)
            for query in ("", f"?client={second}&name=Client+Number1&who=client-number1"):
                answer = visitor.get(path + query)
                assert "Number1" not in answer.text, path
                assert second not in answer.text or path.endswith(second), path


def rubbish(chance: random.Random, tokens: list[str]) -> str:
    """Return a value as a form or an address may bring it."""
    made = (
        "", "0", "-1", "9" * 40, "yes", "no", "none", "mon", "answer", "back", "glute_bridge", "../../etc/passwd",
        "<script>alert(1)</script>", "{{7*7}}", "' OR 1=1 --", "\x00", "\ud83d\ude00".encode("utf-16", "surrogatepass").decode("utf-16"),
        "é" * 50, "1e400", "NaN", "2026-02-31", "2026-01-12", "a" * 3000, "%s%n", "\r\nSet-Cookie: a=b", "[]", "null",
        "70 kg", "squat_back_barbell", "client.age_years", "screen.pregnant", *tokens,
    )  # fmt: skip
    if chance.random() < 0.8:
        return chance.choice(made)
    return "".join(
        chr(chance.choice((chance.randrange(32, 127), chance.randrange(160, 0x2FFF))))
        for _ in range(8)
    )


def names_of_fields() -> list[str]:
    """Return the names that forms of the house use, read from its templates."""
    folder = Path(__file__).parents[2] / "assistant" / "web" / "templates"
    found = set()
    for path in folder.rglob("*.html"):
        found |= set(re.findall(r'name="([a-z_]+)"', path.read_text("utf-8")))
    return sorted(found | {"do", "answer", "fact", "by", "reason"})


def requests_of(
    chance: random.Random, tokens: list[str]
) -> Iterator[tuple[str, str, dict[str, object]]]:
    pages = [page for page in all_pages() if page.path not in ENDS]
    fields = names_of_fields()
    while True:
        page = chance.choice(pages)
        values = {"client": chance.choice([*tokens, rubbish(chance, tokens)])}

        def value(match: re.Match[str], values: dict[str, str] = values) -> str:
            said = values.get(match[1]) or rubbish(chance, tokens)
            return re.sub(r"[/?#%\x00-\x1f\\]", "", said) or "x"

        path = re.sub(r"\{(\w+)(?::\w+)?\}", value, page.path)
        form = {
            chance.choice(fields): [
                rubbish(chance, tokens) for _ in range(chance.choice((1, 1, 2, 9)))
            ]
            for _ in range(chance.randrange(0, 7))
        }
        method = chance.choice(("POST", "POST", "GET") if page.posts else ("GET", "GET", "POST"))
        if method == "GET":
            yield method, path, {"params": form}
        elif chance.random() < 0.9:
            yield method, path, {"data": form}
        else:
            kind = chance.choice(
                (
                    "application/x-www-form-urlencoded",
                    "multipart/form-data",
                    "multipart/form-data; boundary=x",
                    "text/plain",
                    "application/json",
                )
            )
            body = bytes(chance.randrange(256) for _ in range(chance.randrange(200)))
            yield method, path, {"content": body, "headers": {"content-type": kind}}


def fuzzed(place: House, tokens: list[str], count: int, seed: int) -> dict[int, int]:
    """Send so many broken requests by each role in turn; return how often each status came."""
    statuses: dict[int, int] = {}
    chance = random.Random(seed)
    for role in ROLES:
        sent = requests_of(chance, tokens)
        with place.visitor(role, client=tokens[0]) as visitor:
            for _ in range(count // len(ROLES)):
                method, path, more = next(sent)
                place.clock.seconds += 1.0
                answer = visitor.request(method, path, follow_redirects=False, **more)  # type: ignore[arg-type]
                said = f"{method} {path!r} {more!r}"
                assert answer.status_code < 500, said
                assert "Traceback" not in answer.text, said
                # What is taken along as data holds words as they were typed; it is no page.
                is_page = answer.headers.get("content-type", "").startswith("text/html")
                assert not is_page or "<script>alert" not in answer.text, said
                statuses[answer.status_code] = statuses.get(answer.status_code, 0) + 1
    return statuses


def test_broken_requests_are_answered_and_never_fall_over(house: Make) -> None:
    place = house()
    statuses = fuzzed(place, with_clients(place, "four_days", "refer_first"), 240, seed=1)
    assert {200, 303, 404} <= set(statuses)


@pytest.mark.slow
def test_twenty_thousand_broken_requests(house: Make) -> None:
    place = house()
    tokens = with_clients(place, "four_days", "refer_first", "stop_today")
    statuses = fuzzed(place, tokens, at_length(20_000, 1_200), seed=2)
    assert {200, 303, 400, 404} <= set(statuses)
