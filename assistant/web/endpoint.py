"""From a request to a page's answer: the session, the form, and what is said where something goes wrong."""

import asyncio
import sys
import traceback
from collections.abc import Callable, Sequence
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from assistant.model.errors import EngineFault, InputProblems
from assistant.web.guard import sender_of
from assistant.web.serving import Serving
from assistant.web.sessions import Sessions
from assistant.web.visit import NotHere, Page, Visit, cookie_name

# The longest thing anybody pastes is a case file with its remarks.
MOST_FIELDS, LONGEST_FIELD = 300, 64_000
SECONDS_TO_SEND = 10.0
SECONDS_TO_ANSWER = 90.0


def endpoint(page: Page) -> Callable[[Request], Any]:
    """Return what answers requests to a page."""

    async def answer(request: Request) -> Response:
        state = request.app.state
        serving: Serving = state.serving
        cookie = request.cookies.get(cookie_name(serving), "")
        sessions: Sessions = state.sessions
        session = sessions.of(cookie) if cookie else None
        if page.roles:
            if session is None:
                return _elsewhere(request.method == "POST", "/closed")
            if session.locked:
                return _elsewhere(request.method == "POST", "/unlock")
        form = await _form(request) if request.method == "POST" else FormData()
        visit = Visit(
            serving,
            sessions,
            state.opening,
            session,
            path=dict(request.path_params),
            query=_lists(request.query_params.multi_items()),
            form=_lists(form.multi_items()),
            cookie=cookie,
            is_post=request.method == "POST",
            sender=sender_of(request.scope, serving),
        )
        try:
            return await asyncio.wait_for(run_in_threadpool(_made, page, visit), SECONDS_TO_ANSWER)
        except TimeoutError:
            return Response("This takes too long; try again.\n", 503, media_type="text/plain")

    return answer


def _made(page: Page, visit: Visit) -> Response:
    """Make a page; whatever goes wrong is said in one line, and nothing of a person is written down."""
    try:
        return _made_in_turn(page, visit)
    except NotHere:
        return visit.show("no_page.html", 404, title="web_nothing_title", why="web_nothing")
    except InputProblems as problems:
        return visit.refused(problems)
    except EngineFault:
        return visit.show("no_page.html", 503, title="web_no_plan_title", why="web_no_plan")
    except Exception as error:  # noqa: BLE001 - a page must not show what went wrong inside
        # The kind and the place, not the message: that may hold an answer.
        where = traceback.extract_tb(error.__traceback__)[-1]
        told = f"{type(error).__name__} at {where.filename}:{where.lineno}"
        print(f"whyplan serve: {page.make}: {told}", file=sys.stderr)
        return visit.show("no_page.html", 500, title="web_broken_title", why="web_broken")


def _made_in_turn(page: Page, visit: Visit) -> Response:
    session = visit.session
    if session is None:
        return page.answer(visit)
    if page.roles and session.role not in page.roles:
        raise NotHere
    # Two clicks on one button are two requests; one after the other each finds what the first made.
    with session.turn:
        if page.roles and visit.serving.team:
            from assistant.web.team.standing import still_stands  # noqa: PLC0415 - of a team alone

            if not still_stands(visit.records, session, visit.desk.on):
                visit.sessions.end(visit.cookie)
                return _elsewhere(visit.is_post, "/closed")
            _note_look(page, visit)
        return page.answer(visit)


def _note_look(page: Page, visit: Visit) -> None:
    """Leave a line about whose record is looked at, before anything of it is shown."""
    from assistant.web.team.standing import note  # noqa: PLC0415 - of a team alone

    if page.about_nobody:
        return
    is_one = visit.is_client or "{client}" in page.path
    token = visit.client.token if is_one else None
    kind = "POST" if page.posts else "GET"
    note(visit.serving, visit.records, visit.here, f"{kind} {page.path}", token)


async def _form(request: Request) -> FormData:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if not kind and request.headers.get("content-length", "0") == "0":
        return FormData()
    if kind not in {"application/x-www-form-urlencoded", "multipart/form-data"}:
        raise HTTPException(415, "Only forms are read here.")
    try:
        async with asyncio.timeout(SECONDS_TO_SEND):
            form = await request.form(
                max_files=0, max_fields=MOST_FIELDS, max_part_size=LONGEST_FIELD
            )
    except TimeoutError as error:
        raise HTTPException(408, "The form did not arrive in time.") from error
    if len(form.multi_items()) > MOST_FIELDS or any(
        len(value) > LONGEST_FIELD for _, value in form.multi_items() if isinstance(value, str)
    ):
        raise HTTPException(413, "More fields, or a longer one, than any form here has.")
    return form


def _lists(pairs: Sequence[tuple[str, Any]]) -> dict[str, list[str]]:
    lists: dict[str, list[str]] = {}
    for name, value in pairs:
        if isinstance(value, str):
            lists.setdefault(name, []).append(value)
    return lists


def _elsewhere(is_post: bool, path: str) -> Response:
    """Send a reader on; a form that was sent without a session is refused, not silently lost."""
    if is_post:
        text = "Your time here is over; nothing of this form was kept. Open the page again.\n"
        return Response(text, 403, media_type="text/plain")
    return RedirectResponse(path, 303)
