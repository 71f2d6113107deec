"""The pages put together behind the guard."""

import contextlib
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.routing import Route

from assistant.records.store import open_records
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
    """Return the application; its record is open as long as it runs. Raises InputProblems at start."""

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        with open_records(serving.db, serving.today()) as records:
            app.state.records = records
            yield

    routes = [
        Route(page.path, endpoint(page), methods=["POST"] if page.posts else ["GET"])
        for page in pages_of(serving)
    ]
    app = Starlette(
        routes=routes, middleware=[Middleware(Guard, serving=serving)], lifespan=lifespan
    )
    app.state.serving = serving
    app.state.sessions = sessions or Sessions(serving.seconds)
    return app
