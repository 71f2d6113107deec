"""What a server serves: which record, by which rules, to whom, and where its own few files lie."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.intake.quantities import UnitSystem

if TYPE_CHECKING:
    from assistant.clients.desk import Desk
    from assistant.model.knowledge import KnowledgeBase
    from assistant.plan import EngineChoice


@dataclass(frozen=True)
class Serving:
    """The settings of a running server.

    today: the day a request counts as. seconds: a clock that only goes forward, in seconds. folder: for
    drafts, the PIN and the like, readable by its owner alone. alone: one client at home (`--self`).
    host, port: where it listens; hosts: names it answers to, as they stand in a request's Host header.
    house: made by the first number that is changed. log: the decision log that is shown. worked_out: what
    took time, by what it is about, each with what it rests on. team: people sign in, clients come by links,
    and looks are written down with the moment, `now`. behind_proxy: requests come through one TLS proxy.
    """

    today: Callable[[], dt.date]
    seconds: Callable[[], float]
    folder: Path
    hosts: frozenset[str]
    host: str = "127.0.0.1"
    port: int = 8710
    alone: bool = False
    language: str = "en"
    units: UnitSystem = UnitSystem.METRIC
    db: str | None = None
    rules: Path | None = None
    house: Path | None = None
    engine: "EngineChoice | None" = None
    is_secure: bool = False
    log: Path | None = None
    team: bool = False
    behind_proxy: bool = False
    now: Callable[[], dt.datetime] = lambda: dt.datetime.now(tz=dt.UTC)
    worked_out: dict[str, Any] = field(default_factory=dict, compare=False)

    def desk(self) -> "Desk":
        """Return the desk of the day."""
        # What works plans out is imported behind the first page.
        from assistant.clients.desk import Desk  # noqa: PLC0415

        return Desk(self.today(), self.db, self.rules, self._settings, self.engine)

    def kb_in(self, language: str) -> "KnowledgeBase":
        """Return the rule book as it reads in a language. Raises InputProblems."""
        from assistant.clients.book import knowledge_in  # noqa: PLC0415

        return knowledge_in(self.rules, self._settings, language, self.today())

    @property
    def _settings(self) -> Path | None:
        from assistant.clients.settings import existing  # noqa: PLC0415

        return None if self.house is None else existing(self.house)

    @property
    def origins(self) -> frozenset[str]:
        """The origins of the server's own pages."""
        scheme = "https" if self.is_secure else "http"
        return frozenset(f"{scheme}://{host}" for host in self.hosts)
