"""A team's server for tests: people who sign in, and clients with links. SQLite stands in for PostgreSQL."""

import contextlib
import re
from collections.abc import Iterator
from pathlib import Path

from starlette.testclient import TestClient
from web_support import House

from assistant.records.store import Records
from assistant.records.team import add_account
from assistant.web.team.passwords import hashed
from assistant.web.visit import cookie_name

# Made up for these tests alone.
PASSWORD = "a barbell on a rainy day"
COACH, TRAINER = "Robin Vale", "Lena Marrow"


class Team(House):
    """The inside of a team's server."""

    def __init__(self, folder: Path, **more: object) -> None:
        """Make it; nobody may sign in yet."""
        super().__init__(folder, more={"team": True, **more})

    @contextlib.contextmanager
    def open(self) -> Iterator[TestClient]:
        """Give a visitor without a session; the record is open meanwhile."""
        with self.visitor() as visitor:
            yield visitor

    def another(self, visitor: TestClient) -> TestClient:
        """Return another browser at the same server."""
        other = TestClient(visitor.app, base_url=visitor.base_url)
        other.headers.update(visitor.headers)
        return other

    def records(self, visitor: TestClient) -> Records:
        """Return the open record."""
        records: Records = visitor.app.state.opening()  # type: ignore[attr-defined]
        return records

    def add_people(self, visitor: TestClient) -> None:
        """Let a coach and a head trainer sign in."""
        kept = hashed(PASSWORD)
        for name, role in ((COACH, "coach"), (TRAINER, "trainer")):
            add_account(self.records(visitor), name, role, kept, self.clock.today)

    def signed_in(self, visitor: TestClient, name: str) -> TestClient:
        """Return another browser in which somebody has signed in."""
        other = self.another(visitor)
        answer = other.post("/signin", data={"name": name, "password": PASSWORD})
        assert answer.url.path == "/desk", answer.text
        return other

    def link_for(self, coach: TestClient, token: str) -> str:
        """Let a coach make a link for a client; return its key."""
        shown = coach.post(f"/desk/c/{token}/link", data={"do": "make"}).text
        found = re.search(r"/link\?key=([\w-]+)", shown)
        assert found is not None, shown
        return found[1]

    def arrived(self, visitor: TestClient, key: str) -> TestClient:
        """Return another browser that followed a link."""
        other = self.another(visitor)
        answer = other.post("/link", data={"key": key}, follow_redirects=False)
        assert answer.status_code == 303, answer.text
        return other

    def cookie_of(self, visitor: TestClient) -> str:
        """Return the session cookie of a browser."""
        return visitor.cookies.get(cookie_name(self.serving)) or ""
