"""Where clients are looked up and by which rules: the record, the rule book, the day."""

import datetime as dt
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from assistant.clients.book import knowledge, knowledge_in, planner
from assistant.clients.kept import Why, new_version, screened_anew
from assistant.clients.person import Person
from assistant.clients.standing import stands
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.version import Version
from assistant.plan import EngineChoice, Planner
from assistant.records.chain import FACTS, PLAN, NewLine
from assistant.records.forget import Forgotten, forget
from assistant.records.store import Client, Moved, Records, open_records
from assistant.records.versions import last_version


@dataclass(frozen=True)
class Desk:
    """One day's work with one record by one rule book.

    db: the record, as `--db` names it; None for the user's own. rules, house: another rule book, and a
    house's settings over it. engine: None for the one installed.
    """

    on: dt.date
    db: str | None = None
    rules: Path | None = None
    house: Path | None = None
    engine: EngineChoice | None = None

    @property
    def kb(self) -> KnowledgeBase:
        """The rule book with the house's settings. Raises InputProblems."""
        return knowledge(self.rules, self.house, self.on)

    def kb_in(self, language: str) -> KnowledgeBase:
        """Return the rule book as a client reads it in a language. Raises InputProblems."""
        return knowledge_in(self.rules, self.house, language, self.on)

    @property
    def planner(self) -> Planner:
        """Who makes the plans of the day. Raises InputProblems."""
        return planner(self.rules, self.house, self.on, self.engine)

    def opened(self) -> AbstractContextManager[Records]:
        """Open the record."""
        return open_records(self.db, self.on)

    def standing(self, records: Records, name: str) -> Person:
        """Return a client as they stand on the day. Raises InputProblems.

        What stands follows from the day, the book and the head of the history alone, so whoever asks again
        is given the same.
        """
        client, planner = records.client(name), self.planner
        key = (records.place.shown, client.token, client.head, self.on, id(planner))
        with _GUARD:
            held = _standing.pop(key, None)
        if held is None or held.planner is not planner:
            held = stands(records, name, planner)
        with _GUARD:
            while len(_standing) >= MOST_HELD:
                del _standing[next(iter(_standing))]  # whoever was not asked for longest
            _standing[key] = held
        return held

    def everybody(self, records: Records) -> Iterator[tuple[Client, Person | InputProblems]]:
        """Yield each client as they stand on the day, or why that cannot be told."""
        for client in records.clients():
            try:
                yield client, self.standing(records, client.handle)
            except InputProblems as problems:
                yield client, problems

    def forget(self, records: Records, client: Client) -> Forgotten:
        """Forget a client for good, also what is held ready of them. Raises InputProblems."""
        gone = forget(records, client, self.on)
        with _GUARD:
            for key in [key for key in _standing if client.token in key]:
                del _standing[key]
        return gone

    def add_version(self, records: Records, name: str, why: Why, *, agrees: bool = True) -> Version:
        """Make the plan of the day the current version, and return it; see `new_version`."""
        return self.keep(records, name, lambda now: new_version(now, why, agrees=agrees))

    def screen_again(self, records: Records, name: str) -> Version | None:
        """Keep a new version where the record changed what the screen says; None where it did not.

        Raises InputProblems where no plan can be made; what was told is kept all the same.
        """
        return self._kept(records, name, screened_anew)

    def keep(
        self, records: Records, name: str, lines_of: Callable[[Person], Sequence[NewLine]]
    ) -> Version:
        """Append the lines made of a client as they stand; return the version that then is.

        Where another program wrote to the client meanwhile, they are made again of what stands then.
        Raises InputProblems where that goes on and on.
        """
        version = self._kept(records, name, lines_of)
        assert version is not None  # there are lines, and a plan is among a client's first
        return version

    def _kept(
        self,
        records: Records,
        name: str,
        lines_of: Callable[[Person], Sequence[NewLine] | None],
    ) -> Version | None:
        """Do so where there are lines to append; None where there are none."""
        for _ in range(_TURNS):
            client = records.client(name)
            lines = lines_of(self.standing(records, name))
            if lines is None:
                return None
            try:
                records.append(client, lines, unless_moved=True)
            except Moved:
                continue
            return last_version(records.history(client, kinds=[PLAN, FACTS]))
        text = "another program keeps writing to this client; no version was kept; try again"
        raise InputProblems([Problem(records.place.shown, "busy", text)])


# People held ready, with their plans: some hundred kB each.
MOST_HELD = 100
_GUARD = threading.Lock()
_standing: dict[tuple[object, ...], Person] = {}
# Two programs that append to one client at once take turns; this many turns are plenty.
_TURNS = 50
