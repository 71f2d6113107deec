"""What a server serves: which record, by which rules, to whom, and where its own few files lie."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from assistant.clients.desk import Desk
from assistant.intake.quantities import UnitSystem
from assistant.plan import EngineChoice


@dataclass(frozen=True)
class Serving:
    """The settings of a running server.

    today: the day a request counts as. seconds: a clock that only goes forward, in seconds. folder: for
    drafts, the PIN and the like, readable by its owner alone. alone: one client at home (`--self`).
    host, port: where it listens; hosts: names it answers to, as they stand in a request's Host header.
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
    engine: EngineChoice | None = None
    is_secure: bool = False

    def desk(self) -> Desk:
        """Return the desk of the day."""
        return Desk(self.today(), self.db, self.rules, self.house, self.engine)

    @property
    def origins(self) -> frozenset[str]:
        """The origins of the server's own pages."""
        scheme = "https" if self.is_secure else "http"
        return frozenset(f"{scheme}://{host}" for host in self.hosts)
