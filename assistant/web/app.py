"""The pages put together behind the guard."""

import contextlib
import threading
from collections.abc import AsyncIterator
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.routing import Route

from assistant.web import doors
from assistant.web.client import pages as client_pages
from assistant.web.coach import pages as coach_pages
from assistant.web.endpoint import endpoint
from assistant.web.guard import Guard
from assistant.web.serving import Serving
from assistant.web.sessions import Sessions
from assistant.web.team import pages as team_pages
from assistant.web.trainer import pages as trainer_pages
from assistant.web.visit import Page

if TYPE_CHECKING:
    from assistant.records.store import Records


class Opening:
    """Opens the record when it is first asked for, and keeps it open."""

    def __init__(self, serving: Serving) -> None:
        """Open nothing yet."""
        self._serving, self._guard = serving, threading.Lock()
        self._open = contextlib.ExitStack()
        self._records: Records | None = None

    def __call__(self) -> "Records":
        """Return the record. Raises InputProblems where it cannot be opened."""
        # The first page needs no record, and the database layer takes a while to import.
        from assistant.records.store import open_records  # noqa: PLC0415

        with self._guard:
            if self._records is None:
                opened = open_records(self._serving.db, self._serving.today())
                self._records = self._open.enter_context(opened)
            return self._records

    def close(self) -> None:
        """Close what was opened."""
        with self._guard:
            self._records = None
            self._open.close()


def all_pages() -> tuple[Page, ...]:
    """Return every page there is, with who may see it."""
    return (
        *doors.PAGES,
        *client_pages.PAGES,
        *coach_pages.PAGES,
        *trainer_pages.PAGES,
        *team_pages.PAGES,
    )


def pages_of(serving: Serving) -> tuple[Page, ...]:
    """Return the pages that a server has: a team has no launch link and no PIN, one machine no accounts."""
    if serving.team:
        return tuple(page for page in all_pages() if page.path not in doors.AT_HOME)
    return tuple(page for page in all_pages() if page not in team_pages.PAGES)


def create_app(serving: Serving, sessions: Sessions | None = None) -> Starlette:
    """Return the application; its record, once opened, stays open as long as it runs."""

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        yield
        app.state.opening.close()

    routes = [
        Route(page.path, endpoint(page), methods=["POST"] if page.posts else ["GET"])
        for page in pages_of(serving)
    ]
    app = Starlette(
        routes=routes, middleware=[Middleware(Guard, serving=serving)], lifespan=lifespan
    )
    app.state.serving = serving
    app.state.opening = Opening(serving)
    app.state.sessions = sessions or Sessions(serving.seconds)
    return app
