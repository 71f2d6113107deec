"""A team's server: who gets in, what they reach, what is kept of a secret, and the trail of looks.

Outside sources: OWASP Application Security Verification Standard 4 (authentication, access control at one
place), OWASP Session Management Cheat Sheet (a new identifier at sign-in), RFC 9106 (Argon2id), RFC 6265bis
(`__Host-` cookies), RFC 6797 (HSTS); from memory.
"""

import dataclasses
import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from team_support import COACH, PASSWORD, TRAINER, Team
from web_support import House, with_clients

from assistant.model.errors import InputProblems
from assistant.records.access import accesses, trail_of_accesses
from assistant.records.chain import subject_of
from assistant.records.forget import forget
from assistant.records.team import account_of, add_account, remove_account, set_password
from assistant.records.verify import verify
from assistant.web.app import create_app, pages_of
from assistant.web.guard import sender_of
from assistant.web.sessions import IDLE_SECONDS, MOST_OF_ONE, Role, Session
from assistant.web.team import passwords
from assistant.web.team import tries as tries_module
from assistant.web.team.links import LINK_DAYS
from assistant.web.team.tries import FREE, LONGEST_WAIT, Tries
from assistant.web.visit import EVERYBODY, NotHere, Visit, cookie_name


@pytest.fixture(autouse=True)
def _quick_hashes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The cost of a hash is tested by itself; the other tests need not pay for it."""
    monkeypatch.setattr(passwords, "PASSES", 1)
    monkeypatch.setattr(passwords, "KIBIBYTES", 64)
    passwords._hasher.cache_clear()
    passwords._nobody.cache_clear()
    yield
    passwords._hasher.cache_clear()
    passwords._nobody.cache_clear()


@pytest.fixture
def team(tmp_path: Path) -> Team:
    return Team(tmp_path / "team")


@pytest.fixture
def door(team: Team) -> Iterator[TestClient]:
    """A browser at the door of a team with a coach and a head trainer."""
    with team.open() as visitor:
        team.add_people(visitor)
        yield visitor


def test_argon2id_with_the_parameters_of_the_standard(monkeypatch: pytest.MonkeyPatch) -> None:
    """RFC 9106, 4: t = 3, m = 2^16 KiB, p = 4, a salt of 128 bits, a tag of 256."""
    monkeypatch.undo()
    passwords._hasher.cache_clear()
    kept = passwords.hashed(PASSWORD)
    _, kind, version, cost, salt, tag = kept.split("$")
    assert (kind, version, cost) == ("argon2id", "v=19", "m=65536,t=3,p=4")
    assert (len(salt), len(tag)) == (22, 43)  # base64 without padding
    assert passwords.is_right(kept, PASSWORD)
    assert not passwords.is_right(kept, PASSWORD + " ")
    assert kept != passwords.hashed(PASSWORD)


@pytest.mark.parametrize("wrong", ["", "short", "x" * 129])
def test_a_password_of_another_length_is_refused(wrong: str) -> None:
    with pytest.raises(InputProblems, match="12 to 128"):
        passwords.hashed(wrong)


def test_signing_in_opens_a_new_session(team: Team, door: TestClient) -> None:
    assert door.get("/desk").url.path == "/closed"
    other = team.signed_in(door, COACH)
    first = team.cookie_of(other)
    other.post("/signin", data={"name": COACH.upper(), "password": PASSWORD})
    second = team.cookie_of(other)
    assert first != second
    assert team.sessions.of(first) is None
    assert other.get("/desk").status_code == 200


def test_an_unknown_name_and_a_wrong_password_look_alike(team: Team, door: TestClient) -> None:
    told = set()
    for name, password in ((COACH, "not this one at all"), ("Nobody Here", PASSWORD), ("", "")):
        answer = team.another(door).post("/signin", data={"name": name, "password": password})
        assert answer.status_code == 403
        told.add(answer.text.replace(f'value="{name}"', ""))
    assert len(told) == 1


def test_an_unknown_name_takes_as_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    passwords._hasher.cache_clear()
    passwords._nobody.cache_clear()
    kept = passwords.hashed(PASSWORD)
    passwords.made_ready()

    def seconds(known: str | None) -> float:
        best = float("inf")
        for _ in range(3):
            start = time.process_time()
            assert not passwords.is_right(known, "another password")
            best = min(best, time.process_time() - start)
        return best

    assert 0.5 < seconds(kept) / seconds(None) < 2


def test_wrong_tries_make_a_name_and_an_address_slower(team: Team, door: TestClient) -> None:
    for _ in range(FREE):
        wrong = door.post("/signin", data={"name": COACH, "password": "wrong wrong wrong"})
        assert wrong.status_code == 403
    right = {"name": COACH, "password": PASSWORD}
    assert door.post("/signin", data=right).status_code == 429
    # Another name from the same address waits, too, known or not, in the same words.
    assert door.post("/signin", data={**right, "name": TRAINER}).status_code == 429
    unknown = door.post("/signin", data={**right, "name": "Nobody Here"})
    assert unknown.status_code == 429
    assert "Too many tries" in unknown.text
    team.clock.seconds += 1.1
    assert door.post("/signin", data=right).url.path == "/desk"


def test_waits_double_up_to_a_minute_and_are_forgotten() -> None:
    now = [0.0]
    tries = Tries(lambda: now[0])
    waits = []
    for _ in range(12):
        assert tries.begin("a") == 0
        waits.append(wait := tries.begin("a")) if tries._tried["a"].count >= FREE else None
        now[0] += wait if waits else 0
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60]
    assert tries.begin("b") == 0
    now[0] += 3601
    assert [tries.begin("a") for _ in range(FREE)] == [0] * FREE
    assert tries.begin("a") > 0
    tries.right("a")
    assert tries.begin("a") == 0
    assert 3600 / LONGEST_WAIT < 100  # tries an hour


def test_tries_that_wait_take_nobody_else_out_of_the_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a flood of made-up names from an address that waits would make a guessed name free again."""
    monkeypatch.setattr(tries_module, "MOST_KEPT", 10)
    tries = Tries(lambda: 0.0)
    for number in range(FREE):
        assert tries.begin("name coach", f"address {number % 2}") == 0
    assert [tries.begin(f"name {n}", "address 0") for n in range(2)] == [0, 0]
    for number in range(100):
        assert tries.begin(f"name made up {number}", "address 0") > 0
    assert tries.begin("name coach", "address 9") > 0


def test_a_long_name_is_counted_in_few_bytes(team: Team, door: TestClient) -> None:
    said = door.post("/signin", data={"name": "é" * 10_000, "password": "wrong wrong wrong"})
    assert said.status_code == 403, said.text
    assert max(map(len, team.sessions.tries._tried)) < 100


def test_one_link_never_takes_the_place_of_everybody(team: Team, door: TestClient) -> None:
    (token,) = with_clients(team, "four_days")
    coach = team.signed_in(door, COACH)
    key = team.link_for(coach, token)
    devices = []
    for _ in range(MOST_OF_ONE + 1):
        team.clock.seconds += 1
        devices.append(team.arrived(door, key))
    assert [team.sessions.of(team.cookie_of(each)) is None for each in devices] == [True] + [False] * MOST_OF_ONE  # fmt: skip
    assert coach.get("/desk").status_code == 200


def test_what_another_program_takes_away_ends_here_at_once(team: Team, door: TestClient) -> None:
    records = team.records(door)
    coach, trainer = team.signed_in(door, COACH), team.signed_in(door, TRAINER)
    account = account_of(records, COACH)
    assert account is not None
    set_password(records, account, passwords.hashed("another fine password"))
    assert coach.get("/desk").url.path == "/closed"
    assert trainer.get("/desk").status_code == 200
    account = account_of(records, TRAINER)
    assert account is not None
    remove_account(records, account)
    lost = trainer.post("/desk", data={"q": "x"})
    assert lost.status_code == 403
    assert trainer.get("/desk").url.path == "/closed"


def test_an_idle_session_is_over_whatever_pin_lies_about(team: Team, door: TestClient) -> None:
    coach = team.signed_in(door, COACH)
    assert coach.get("/pin").status_code == 404
    assert door.get("/start?key=x").status_code == 404
    team.clock.seconds += IDLE_SECONDS + 1
    assert coach.get("/desk").url.path == "/closed"


def test_a_link_opens_its_client_until_it_ends(team: Team, door: TestClient) -> None:
    one, two = with_clients(team, "four_days", "older_lifter")
    coach = team.signed_in(door, COACH)
    key = team.link_for(coach, one)
    # It is shown once.
    assert key not in coach.get(f"/desk/c/{one}/link").text
    # Looking at it opens nothing; two devices of the client may use it.
    assert door.get(f"/link?key={key}").status_code == 200
    assert door.get("/me").url.path == "/closed"
    clients = [team.arrived(door, key) for _ in range(2)]
    assert all(each.get("/me").status_code == 200 for each in clients)
    other = team.arrived(door, team.link_for(coach, two))
    # A new link ends the old one and what it opened, and nobody else's.
    newer = team.link_for(coach, one)
    assert all(each.get("/me").url.path == "/closed" for each in clients)
    assert door.post("/link", data={"key": key}).status_code == 403
    assert other.get("/me").status_code == 200
    client = team.arrived(door, newer)
    coach.post(f"/desk/c/{one}/link", data={"do": "withdraw"})
    assert client.get("/me").url.path == "/closed"
    assert door.post("/link", data={"key": newer}).status_code == 403
    for wrong in ("", "guessed", "\x00", two, one):
        assert door.post("/link", data={"key": wrong}).status_code == 403


def test_a_link_is_over_after_its_days(team: Team, door: TestClient) -> None:
    (token,) = with_clients(team, "four_days")
    coach = team.signed_in(door, COACH)
    key = team.link_for(coach, token)
    client = team.arrived(door, key)
    start = team.clock.today
    team.clock.today = start.fromordinal(start.toordinal() + LINK_DAYS)
    assert client.get("/me").status_code == 200
    team.clock.today = start.fromordinal(start.toordinal() + LINK_DAYS + 1)
    assert client.get("/me").url.path == "/closed"
    assert door.post("/link", data={"key": key}).status_code == 403


def test_a_client_may_have_a_password_of_their_own(team: Team, door: TestClient) -> None:
    one, _ = with_clients(team, "four_days", "older_lifter")
    records = team.records(door)
    client = next(each for each in records.clients() if each.token == one)
    kept = passwords.hashed(PASSWORD)
    with pytest.raises(InputProblems, match="unknown-role"):
        add_account(records, "Sam", "client", kept, team.clock.today)
    with pytest.raises(InputProblems, match="unknown-role"):
        add_account(records, "Sam", "coach", kept, team.clock.today, client)
    add_account(records, "Sam", "client", kept, team.clock.today, client)
    with pytest.raises(InputProblems, match="name-taken"):
        add_account(records, "sam", "coach", kept, team.clock.today)
    browser = team.another(door)
    browser.post("/signin", data={"name": "Sam", "password": PASSWORD})
    assert browser.get("/me").status_code == 200
    assert browser.get("/desk").status_code == 404
    forget(records, client, team.clock.today)
    assert browser.get("/me").url.path == "/closed"
    assert account_of(records, "Sam") is None


@pytest.mark.parametrize("role", [None, *Role])
def test_who_reaches_what(team: Team, door: TestClient, role: Role | None) -> None:
    """Every page of a team's server against every role."""
    (token,) = with_clients(team, "four_days")
    coach = team.signed_in(door, COACH)
    browser = {
        None: lambda: team.another(door),
        Role.CLIENT: lambda: team.arrived(door, team.link_for(coach, token)),
        Role.COACH: lambda: coach,
        Role.TRAINER: lambda: team.signed_in(door, TRAINER),
    }[role]()
    for page in pages_of(team.serving):
        if page.roles == EVERYBODY or role in page.roles:
            continue
        path = re.sub(r"\{\w+(:\w+)?\}", token, page.path)
        answer = browser.request(
            "POST" if page.posts else "GET", path, data={} if page.posts else None,
            follow_redirects=False,
        )  # fmt: skip
        if role is None:
            away = (answer.status_code, answer.headers.get("location"))
            assert away == (303, "/closed") or answer.status_code == 403, page.path
        else:
            assert answer.status_code == 404, page.path
        assert "Client Number0" not in answer.text


def test_no_client_ever_reaches_another(team: Team, door: TestClient) -> None:
    """Token, handle, link and cookie of another client, in address, question, form and header."""
    one, two = with_clients(team, "four_days", "older_lifter")
    coach = team.signed_in(door, COACH)
    mine, theirs = team.link_for(coach, one), team.link_for(coach, two)
    browser = team.arrived(door, mine)
    other = {
        "client": two,
        "who": "client-number1",
        "name": "Client Number1",
        "id": "2",
        "token": two,
    }
    pages = [page for page in pages_of(team.serving) if Role.CLIENT in page.roles]
    assert pages
    for name, value in {"client": two, "key": theirs, "session": two}.items():
        browser.cookies.set(name, value)
    looks = 0
    for page in pages:
        if page.path in {"/lock", "/me/data/forget"} or "delete" in page.path:
            continue
        path = re.sub(r"\{\w+(:\w+)?\}", two, page.path)
        if page.posts:
            answer = browser.post(path, data=other, params=other)
        else:
            answer = browser.get(path, params={**other, "key": theirs})
        looks += 1
        assert "Number1" not in answer.text.replace('value="Client Number1"', ""), page.path
    assert looks > 1
    for path in (
        f"/desk/c/{two}",
        f"/desk/c/{two}/link",
        f"/desk/c/{two}/trail",
        "/desk",
        "/trail",
    ):
        assert browser.get(path, params=other).status_code == 404, path
    # Nothing was written to the other, and every look was at the own record.
    records = team.records(door)
    looked = [each for each in accesses(records) if each.role == "client"]
    assert {each.subject for each in looked} == {subject_of(one)}
    person = next(each for each in records.clients() if each.token == two)
    assert [line.kind for line in records.history(person)] == ["answers", "facts", "plan"]


def test_a_foreign_cookie_opens_nothing(team: Team, door: TestClient) -> None:
    (token,) = with_clients(team, "four_days")
    coach = team.signed_in(door, COACH)
    key = team.link_for(coach, token)
    for cookie in (key, token, "", "x" * 43, passwords.hashed(PASSWORD)):
        browser = team.another(door)
        browser.cookies.set(cookie_name(team.serving), cookie)
        assert browser.get("/me", follow_redirects=False).headers["location"] == "/closed"


def test_every_look_leaves_a_line_before_it_is_shown(team: Team, door: TestClient) -> None:
    one, two = with_clients(team, "four_days", "older_lifter")
    records = team.records(door)
    trainer = team.signed_in(door, TRAINER)
    pages = [
        page
        for page in pages_of(team.serving)
        if Role.TRAINER in page.roles and not page.about_nobody
    ]
    assert any("{client}" in page.path for page in pages)
    for page in pages:
        path = page.path.replace("{client}", one)
        path = re.sub(r"\{\w+(:\w+)?\}", "x", path)
        before = len(accesses(records, most=1000))
        ask = trainer.post if page.posts else trainer.get
        ask(f"{path}?secret=1", follow_redirects=False)
        found = accesses(records, most=1000)
        assert len(found) == before + 1, page.path
        line = found[0]
        assert (line.who, line.role) == (TRAINER, "trainer")
        assert line.page == f"{'POST' if page.posts else 'GET'} {page.path}"
        assert line.subject == (subject_of(one) if "{client}" in page.path else "")
        if page.path.endswith("/forget") and page.posts:
            break
    # Without a line nothing is shown.
    with closing(sqlite3.connect(team.record)) as connection:
        connection.execute("ALTER TABLE access RENAME TO gone")
        answer = trainer.get(f"/desk/c/{two}")
        assert answer.status_code != 200
        assert "Client Number1" not in answer.text
        connection.execute("ALTER TABLE gone RENAME TO access")
    # A page of somebody who is not there is no look at anybody.
    before = len(accesses(records, most=1000))
    assert trainer.get("/desk/c/nobody").status_code == 404
    assert len(accesses(records, most=1000)) == before


def test_no_page_that_shows_clients_goes_uncounted(team: Team, door: TestClient) -> None:
    """Pages that are said to be about nobody name nobody."""
    with_clients(team, "four_days")
    trainer = team.signed_in(door, TRAINER)
    quiet = [page for page in pages_of(team.serving) if page.about_nobody and not page.posts]
    assert quiet
    for page in quiet:
        if page.path == "/trail":  # names those whose looks are told, and their clients by link
            continue
        path = re.sub(r"\{\w+(:\w+)?\}", "sleep.target", page.path)
        assert "Client Number0" not in trainer.get(path).text, page.path


def test_the_trail_is_shown_and_a_change_in_it_is_found(team: Team, door: TestClient) -> None:
    one, two = with_clients(team, "four_days", "older_lifter")
    records = team.records(door)
    coach, trainer = team.signed_in(door, COACH), team.signed_in(door, TRAINER)
    coach.get(f"/desk/c/{two}")
    client = team.arrived(door, team.link_for(coach, one))
    mine = client.get("/me/trail").text
    assert mine.count(COACH) == accesses_by(team, door, COACH, one)
    assert "Number1" not in mine
    assert "/desk" not in mine
    assert coach.get("/trail").status_code == 404
    page = trainer.get("/trail").text
    assert "is whole" in page
    assert "Client Number0" in page
    assert "Client Number1" in page
    about_one = trainer.get(f"/desk/c/{one}/trail").text
    assert "Client Number0" in about_one
    assert "Client Number1" not in about_one
    assert verify(records).problems == ()
    for change in (
        "UPDATE access SET who = 'Somebody Else' WHERE number = 2",
        "DELETE FROM access WHERE number = 2",
        "UPDATE access SET page = 'GET /help' WHERE number = 1",
    ):
        with closing(sqlite3.connect(team.record)) as connection:
            kept = connection.execute("SELECT * FROM access").fetchall()
            connection.execute(change)
            connection.commit()
            (problem,) = trail_of_accesses(records)[2]
            assert problem.code == "trail-changed"
            assert verify(records).problems == (problem,)
            assert "is not what was written" in trainer.get("/trail").text
            connection.execute("DELETE FROM access")
            marks = ",".join("?" * len(kept[0]))
            connection.executemany(f"INSERT INTO access VALUES ({marks})", kept)
            connection.commit()
            assert trail_of_accesses(records)[2] == ()


def accesses_by(team: Team, door: TestClient, who: str, token: str) -> int:
    found = accesses(team.records(door), token=token, most=1000)
    return sum(each.who == who for each in found)


def test_the_database_holds_no_secret_in_the_clear(team: Team, door: TestClient) -> None:
    (token,) = with_clients(team, "four_days")
    coach = team.signed_in(door, COACH)
    key = team.link_for(coach, token)
    client = team.arrived(door, key)
    client.get("/me")
    cookie = team.cookie_of(client)
    with closing(sqlite3.connect(team.record)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        dump = "\n".join(connection.iterdump())
    assert "$argon2id$" in dump
    files = b"".join(path.read_bytes() for path in team.folder.rglob("*") if path.is_file())
    for secret in (key, PASSWORD, cookie):
        assert secret not in dump
        assert secret.encode() not in files
    # No name of a client in the trail: of a forgotten one nothing is left there.
    assert not re.search(r'INSERT INTO "access".*Client Number0', dump)


def test_over_tls_the_cookie_is_for_this_host_alone(tmp_path: Path) -> None:
    name = "plans.example.org"
    team = Team(tmp_path / "tls", is_secure=True, behind_proxy=True)
    team.serving = dataclasses.replace(team.serving, hosts=frozenset({name}))
    team.app = create_app(team.serving, team.sessions)
    with TestClient(team.app, base_url=f"https://{name}") as visitor:
        visitor.headers.update({"sec-fetch-site": "same-origin"})
        team.add_people(visitor)
        form = {"name": COACH, "password": PASSWORD}
        answer = visitor.post("/signin", data=form, follow_redirects=False)
        cookie = answer.headers["set-cookie"]
        assert cookie.startswith("__Host-")
        assert "; Secure" in cookie
        assert "; Path=/" in cookie
        assert "omain" not in cookie
        assert answer.headers["strict-transport-security"] == "max-age=31536000"
        assert visitor.get("/desk", headers={"host": "127.0.0.1:8710"}).status_code == 421
        del visitor.headers["sec-fetch-site"]
        for origin, status in ((f"https://{name}", 303), (f"http://{name}", 403)):
            left = visitor.post("/leave", headers={"origin": origin}, follow_redirects=False)
            assert left.status_code == status
    with Team(tmp_path / "plain").open() as visitor:
        assert "strict-transport-security" not in visitor.get("/closed").headers


def test_only_the_declared_proxy_says_who_asks(team: Team) -> None:
    scope = {"client": ("10.0.0.1", 1), "headers": [(b"x-forwarded-for", b"6.6.6.6, 7.7.7.7")]}
    assert sender_of(scope, team.serving) == "10.0.0.1"
    behind = dataclasses.replace(team.serving, behind_proxy=True)
    assert sender_of(scope, behind) == "7.7.7.7"
    assert sender_of({**scope, "headers": []}, behind) == "10.0.0.1"


def test_one_machine_has_no_pages_of_a_team(tmp_path: Path) -> None:
    place = House(tmp_path / "one")
    (token,) = with_clients(place, "four_days")
    with place.visitor(Role.TRAINER) as visitor:
        for path in (
            "/signin",
            "/link",
            "/trail",
            f"/desk/c/{token}/link",
            f"/desk/c/{token}/trail",
        ):
            assert visitor.get(path).status_code == 404, path
        assert visitor.get("/desk").status_code == 200


def test_a_session_that_came_from_nowhere_is_over(team: Team) -> None:
    """What tests of one machine do, a team's server does not take."""
    with team.visitor(Role.TRAINER) as visitor:
        assert visitor.get("/desk").url.path == "/closed"


def test_what_a_client_names_never_says_which_client(team: Team, door: TestClient) -> None:
    """Whatever way another client's token is sent, the page is about the client of the session."""
    one, two = with_clients(team, "four_days", "older_lifter")
    named = {"client": [two], "token": [two], "id": ["2"]}
    visit = Visit(
        team.serving,
        team.sessions,
        lambda: team.records(door),
        Session(Role.CLIENT, "Client Number0", one),
        path={"client": two, "token": two},
        query=named,
        form=named,
    )
    assert visit.client.token == one
    visit = dataclasses.replace(visit, session=Session(Role.CLIENT, "Client Number0", ""))
    with pytest.raises(NotHere):
        _ = visit.client


def test_in_a_team_nobody_writes_in_the_name_of_another(team: Team, door: TestClient) -> None:
    (token,) = with_clients(team, "four_days")
    coach = team.signed_in(door, COACH)
    page = f"/desk/c/{token}/override"
    assert 'name="by"' not in coach.get(page).text
    change = {
        "line": "food.protein",
        "to": "120",
        "by": "Somebody Else",
        "reason": "likes it",
        "do": "keep",
    }
    coach.post(page, data=change)
    client = team.records(door).clients()[0]
    bodies = "".join(line.body for line in team.records(door).history(client))
    assert "likes it" in bodies
    assert COACH in bodies
    assert "Somebody Else" not in bodies
