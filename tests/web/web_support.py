"""A server for tests, with an invented record and a day that stands still; and a real browser on it."""

import contextlib
import datetime as dt
import re
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.testclient import TestClient

from assistant.casefiles import read_case
from assistant.clients.adding import first_lines
from assistant.records.store import open_records
from assistant.web.app import create_app
from assistant.web.doors import HOME
from assistant.web.serving import Serving
from assistant.web.sessions import Role, Session, Sessions
from assistant.web.visit import cookie_name

ROOT = Path(__file__).parents[2]
MONDAY = dt.date(2026, 1, 12)
PORT = 8710
BASE = f"http://127.0.0.1:{PORT}"
OWN_POST = {"sec-fetch-site": "same-origin"}


@dataclass
class Clock:
    """A day and seconds that move only when a test says so."""

    today: dt.date = MONDAY
    seconds: float = 1000.0


@dataclass
class House:
    """A server's inside: settings, sessions, application; and visitors to it without a network."""

    folder: Path
    alone: bool = False
    language: str = "en"
    port: int = PORT
    more: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.clock = Clock()
        self.folder.mkdir(parents=True, exist_ok=True)
        self.record = self.folder / "records.sqlite3"
        self.serving = Serving(
            today=lambda: self.clock.today,
            seconds=lambda: self.clock.seconds,
            folder=self.folder,
            hosts=frozenset({f"127.0.0.1:{self.port}", f"localhost:{self.port}"}),
            port=self.port,
            alone=self.alone,
            language=self.language,
            db=str(self.record),
            **self.more,
        )
        self.sessions = Sessions(self.serving.seconds)
        self.app: Starlette = create_app(self.serving, self.sessions)
        self.app.state.clock = self.clock

    @contextlib.contextmanager
    def visitor(
        self, role: Role | None = None, *, client: str = "", name: str = "Robin Vale"
    ) -> Iterator[TestClient]:
        """Give a visitor with a session of a role, or without one; redirects are followed."""
        with TestClient(self.app, base_url=BASE, raise_server_exceptions=True) as visitor:
            visitor.headers.update(OWN_POST)
            if role is not None:
                cookie = self.sessions.open(Session(role, name, client))
                visitor.cookies.set(cookie_name(self.serving), cookie)
            yield visitor

    def home(self, role: Role) -> str:
        return HOME[role]

    @contextlib.contextmanager
    def running(self) -> Iterator[str]:
        """Run the server on its port in a thread; give its address."""
        config = uvicorn.Config(self.app, log_level="error", access_log=False)
        server = uvicorn.Server(config)
        listening = socket.socket()
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", self.port))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            end = time.monotonic() + 60
            while not server.started:
                if not thread.is_alive() or time.monotonic() > end:
                    raise AssertionError("the server did not start")
                time.sleep(0.02)
            yield f"http://127.0.0.1:{self.port}"
        finally:
            server.should_exit = True
            thread.join(30)
            listening.close()

    def link(self, role: Role, *, client: str = "", name: str = "Robin Vale") -> str:
        """Return a launch link for a browser."""
        key = self.sessions.link(role, client=client, name=name)
        return f"http://127.0.0.1:{self.port}/start?key={key}"


def with_clients(house: House, *cases: str) -> list[str]:
    """Put invented people in the record; return their tokens."""
    desk = house.serving.desk()
    tokens = []
    with open_records(str(house.record), house.clock.today) as records:
        for number, name in enumerate(cases):
            case = read_case(ROOT / "cases" / f"{name}.yaml", desk.kb)
            lines = first_lines(desk.planner, case, f"Client Number{number}")
            client = records.add(f"Client Number{number}", house.clock.today, lines)
            tokens.append(client.token)
    return tokens


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def fields(html: str) -> dict[str, str]:
    """Return the hidden fields of the first form that has any."""
    found = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', html)
    return dict(found)
