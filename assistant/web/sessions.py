"""Who is at the keyboard: sessions held in memory alone, launch links that work once, the idle lock."""

import secrets
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from assistant.model.chain import digest
from assistant.web.team.tries import Tries

# After so long without a page the screen locks; after so long locked the session is over (judgement).
IDLE_SECONDS, FORGOTTEN_SECONDS = 10 * 60.0, 12 * 3600.0
LINK_SECONDS = 10 * 60.0
# One account or link never takes the place of all others.
MOST_SESSIONS, MOST_OF_ONE = 500, 20


class Role(StrEnum):
    """What somebody may see: their own pages, the clients', or the rule book and the log as well."""

    CLIENT = "client"
    COACH = "coach"
    TRAINER = "trainer"


@dataclass
class Session:
    """One browser.

    name: who it is, written beside what they change. client: the token of the one client a session of that
    role is about, empty until there is one. held: what pages keep between two requests, such as a dialogue under
    way; never an answer that is kept nowhere (see `asked`). notice: said once on the next page. turn: one request
    of a session at a time. ground: the account or link it came from, on a server for a team (`team.standing`).
    """

    role: Role
    name: str = ""
    client: str = ""
    seen: float = 0.0
    locked: bool = False
    wrong_pins: int = 0
    notice: str = ""
    ground: str = ""
    held: dict[str, Any] = field(default_factory=dict)
    turn: threading.Lock = field(default_factory=threading.Lock)


class Sessions:
    """All open sessions, by the hash of their cookie: the cookie itself is kept nowhere."""

    def __init__(self, seconds: Callable[[], float]) -> None:
        """Start without sessions."""
        self._seconds = seconds
        self.tries = Tries(seconds)
        self._open: dict[str, Session] = {}
        self._links: dict[str, tuple[Session, float]] = {}
        self._guard = threading.Lock()

    def link(self, role: Role, *, name: str = "", client: str = "") -> str:
        """Return a key that opens one session of a role, once, within a few minutes."""
        key = secrets.token_urlsafe(32)
        with self._guard:
            until = self._seconds() + LINK_SECONDS
            self._links[digest(key)] = (Session(role, name, client), until)
        return key

    def redeem(self, key: str) -> Session | None:
        """Use a key up; return the session it is for, None where it is for none any more."""
        with self._guard:
            session, until = self._links.pop(digest(key), (None, 0.0))
        return session if until >= self._seconds() else None

    def open(self, session: Session) -> str:
        """Open a session and return its cookie."""
        cookie = secrets.token_urlsafe(32)
        with self._guard:
            session.seen = self._seconds()
            own = [key for key, each in self._open.items() if each.ground == session.ground]
            if session.ground and len(own) >= MOST_OF_ONE:
                self._end_longest_idle(own)
            while len(self._open) >= MOST_SESSIONS:
                self._end_longest_idle(self._open)
            self._open[digest(cookie)] = session
        return cookie

    def _end_longest_idle(self, among: Iterable[str]) -> None:
        del self._open[min(among, key=lambda each: self._open[each].seen)]

    def of(self, cookie: str) -> Session | None:
        """Return the session of a cookie, locked where it was idle too long; None where there is none."""
        with self._guard:
            session = self._open.get(digest(cookie))
            if session is None:
                return None
            idle = self._seconds() - session.seen
            if idle > FORGOTTEN_SECONDS:
                del self._open[digest(cookie)]
                return None
            session.locked = session.locked or idle > IDLE_SECONDS
            if not session.locked:
                session.seen = self._seconds()
            return session

    def end(self, cookie: str) -> None:
        """End a session."""
        with self._guard:
            self._open.pop(digest(cookie), None)

    def end_of_client(self, token: str) -> None:
        """End every session about a client, who is forgotten."""
        with self._guard:
            gone = [key for key, each in self._open.items() if each.client == token]
            for key in gone:
                del self._open[key]
