"""One request to one page: who asks, about whom, what was sent; and the way from there to an answer."""

import asyncio
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from importlib import import_module
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from assistant.clients.desk import Desk
from assistant.clients.person import Person
from assistant.intake.quantities import UnitSystem
from assistant.model.errors import EngineFault, InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import ENGLISH, read_language
from assistant.plan.phrases import Phrasebook
from assistant.records.store import Client, Records
from assistant.report.page.words import PageWords
from assistant.web import show
from assistant.web.guard import sender_of
from assistant.web.serving import Serving
from assistant.web.sessions import Role, Session, Sessions
from assistant.web.team.standing import note, still_stands

EVERYBODY: frozenset[Role] = frozenset()
CLIENTS = frozenset({Role.CLIENT})
COACHES = frozenset({Role.COACH, Role.TRAINER})
TRAINERS = frozenset({Role.TRAINER})
# The longest thing anybody pastes is a case file with its remarks.
MOST_FIELDS, LONGEST_FIELD = 300, 64_000
SECONDS_TO_SEND = 10.0
SECONDS_TO_ANSWER = 90.0


class NotHere(Exception):
    """There is no such page for whoever asks."""


@dataclass(frozen=True)
class Page:
    """One page.

    path: its address. make: `module:function` under `assistant.web`, imported when first asked
    for. roles: who may see it; EVERYBODY also without a session. posts: it takes a form. about_nobody: it
    shows nothing of any client; all others are counted as a look at one, or at all of them.
    """

    path: str
    make: str
    roles: frozenset[Role]
    posts: bool = False
    about_nobody: bool = False

    def handler(self) -> "Callable[[Visit], Response]":
        """Return the function that makes the page."""
        module, name = self.make.split(":")
        made: Callable[[Visit], Response] = getattr(import_module(f"assistant.web.{module}"), name)
        return made


@dataclass
class Visit:
    """What a page is made from.

    path: what the address names. query, form: what was sent, each name with all its values. cookie: of
    the session, empty without one. sender: the address of whoever asks.
    """

    serving: Serving
    sessions: Sessions
    records: Records
    session: Session | None
    path: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, list[str]] = field(default_factory=dict)
    form: Mapping[str, list[str]] = field(default_factory=dict)
    cookie: str = ""
    is_post: bool = False
    sender: str = ""

    def sent(self, name: str) -> str:
        """Return a field of the form, without blanks around it; empty where it was not sent."""
        return (self.form.get(name) or [""])[-1].strip()

    def asked(self, name: str) -> str:
        """Return a field of the address; empty where it is not there."""
        return (self.query.get(name) or [""])[-1].strip()

    @property
    def here(self) -> Session:
        """The session. Raises NotHere without one."""
        if self.session is None:
            raise NotHere
        return self.session

    @property
    def is_client(self) -> bool:
        """Tell whether a client asks, whatever they ask for."""
        return self.session is not None and self.session.role is Role.CLIENT

    @cached_property
    def desk(self) -> Desk:
        """The desk of the day."""
        return self.serving.desk()

    @cached_property
    def language(self) -> str:
        """The language of the page: a client's own, English for the rest."""
        return self.serving.language if self.session is None or self.is_client else ENGLISH

    @cached_property
    def kb(self) -> KnowledgeBase:
        """The rule book in the language of the page. Its values and rules are those of `desk.kb`."""
        return self.desk.kb_in(self.language)

    @property
    def is_imperial(self) -> bool:
        """Tell whether pounds and inches are shown."""
        return self.serving.units is UnitSystem.IMPERIAL

    @cached_property
    def words(self) -> PageWords:
        """The words of the page."""
        kb = self.desk.kb
        return PageWords(
            read_language(kb, self.language),
            read_language(kb, ENGLISH),
            Phrasebook(self.kb, self.is_imperial),
        )

    @cached_property
    def client(self) -> Client:
        """The client a page is about. Raises NotHere where there is none.

        A client is only ever shown what is theirs: what the address names counts for coaches alone.
        """
        wanted = self.here.client if self.is_client else self.path.get("client", "")
        everybody = self.records.clients()
        if self.is_client and self.serving.alone and not wanted and len(everybody) == 1:
            return everybody[0]
        found = next((each for each in everybody if each.token == wanted and wanted), None)
        if found is None:
            raise NotHere
        return found

    @cached_property
    def person(self) -> Person:
        """The client as they stand on the day. Raises InputProblems, NotHere."""
        return self.desk.standing(self.records, self.client.handle)

    def show(self, template: str, status: int = 200, **parts: Any) -> Response:
        """Return a page with what every page carries."""
        notice = ""
        if self.session is not None:
            notice, self.session.notice = self.session.notice, ""
        about = {
            "visit": self,
            "words": self.words,
            "told": self.words.told,
            "html": self.words.html,
            "session": self.session,
            "alone": self.serving.alone,
            "notice": notice,
        }
        return show.page(template, status, **{**about, **parts})

    def go(self, path: str, notice: str = "") -> Response:
        """Send the browser to another page. notice: said there once."""
        if notice and self.session is not None:
            self.session.notice = notice
        return RedirectResponse(path, 303)

    def refused(self, problems: InputProblems | Sequence[str], status: int = 400) -> Response:
        """Return the page that says what was wrong with what was sent."""
        told = (
            [str(each) for each in problems.problems]
            if isinstance(problems, InputProblems)
            else problems
        )
        return self.show("refused.html", status, problems=told)


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
            state.records,
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
        return visit.show("nothing_here.html", 404)
    except InputProblems as problems:
        return visit.refused(problems)
    except EngineFault:
        return visit.show("no_plan.html", 503)
    except Exception as error:  # noqa: BLE001 - a page must not show what went wrong inside
        # The kind and the place, not the message: that may hold an answer.
        where = traceback.extract_tb(error.__traceback__)[-1]
        told = f"{type(error).__name__} at {where.filename}:{where.lineno}"
        print(f"whyplan serve: {page.make}: {told}", file=sys.stderr)
        return visit.show("broken.html", 500)


def _made_in_turn(page: Page, visit: Visit) -> Response:
    session = visit.session
    if session is None:
        return page.handler()(visit)
    if page.roles and session.role not in page.roles:
        raise NotHere
    # Two clicks on one button are two requests; one after the other each finds what the first made.
    with session.turn:
        if page.roles and visit.serving.team:
            if not still_stands(visit.records, session, visit.desk.on):
                visit.sessions.end(visit.cookie)
                return _elsewhere(visit.is_post, "/closed")
            _note_look(page, visit)
        return page.handler()(visit)


def _note_look(page: Page, visit: Visit) -> None:
    """Leave a line about whose record is looked at, before anything of it is shown."""
    if page.about_nobody:
        return
    is_one = visit.is_client or "{client}" in page.path
    token = visit.client.token if is_one else None
    kind = "POST" if page.posts else "GET"
    note(visit.serving, visit.records, visit.here, f"{kind} {page.path}", token)


def cookie_name(serving: Serving) -> str:
    """Return the cookie's name: two servers on one machine do not take each other's."""
    plain = serving.host.replace(".", "-").replace(":", "-")
    name = f"notes_{plain}_{serving.port}"
    return f"__Host-{name}" if serving.is_secure else name


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
