"""One request to one page: who asks, about whom, what was sent; and the way from there to an answer."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from importlib import import_module
from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse, Response

from assistant.intake.quantities import UnitSystem
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import ENGLISH, read_language
from assistant.plan.phrases import Phrasebook
from assistant.report.page.words import PageWords
from assistant.web import show
from assistant.web.refusals import told
from assistant.web.serving import Serving
from assistant.web.sessions import Role, Session, Sessions

if TYPE_CHECKING:
    from assistant.clients.desk import Desk
    from assistant.clients.person import Person
    from assistant.records.store import Client, Records

EVERYBODY: frozenset[Role] = frozenset()
CLIENTS = frozenset({Role.CLIENT})
COACHES = frozenset({Role.COACH, Role.TRAINER})
TRAINERS = frozenset({Role.TRAINER})


class NotHere(Exception):
    """There is no such page for whoever asks."""


@dataclass(frozen=True)
class Page:
    """One page.

    path: its address. make: `module:function` under `assistant.web`, imported when first asked
    for. roles: who may see it; EVERYBODY also without a session. posts: it takes a form. again: the
    function of the same module that shows the form again where it is refused; without one a page of its own
    says why. about_nobody: it shows nothing of any client; all others are counted as a look at one, or at
    all of them.
    """

    path: str
    make: str
    roles: frozenset[Role]
    posts: bool = False
    again: str = ""
    about_nobody: bool = False

    def makers(self) -> "tuple[Callable[[Visit], Response], ...]":
        """Return the function that makes the page, and the one that shows it again where there is one."""
        module, name = self.make.split(":")
        names = (name, self.again) if self.again else (name,)
        return tuple(getattr(import_module(f"assistant.web.{module}"), each) for each in names)

    def answer(self, visit: "Visit") -> Response:
        """Make the page; where a form is refused, the form again with what was typed.

        Raises InputProblems, NotHere.
        """
        make, *again = self.makers()
        try:
            return make(visit)
        except InputProblems as problems:
            if not again:
                raise
            visit.wrong = told(problems)
            visit.__dict__.pop("person", None)
        return again[0](visit)


@dataclass
class Visit:
    """What a page is made from.

    path: what the address names. query, form: what was sent, each name with all its values. cookie: of
    the session, empty without one. sender: the address of whoever asks. wrong: what was wrong with the
    form, a line each; a page that shows any is a refusal.
    """

    serving: Serving
    sessions: Sessions
    opening: "Callable[[], Records]"
    session: Session | None
    path: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, list[str]] = field(default_factory=dict)
    form: Mapping[str, list[str]] = field(default_factory=dict)
    cookie: str = ""
    is_post: bool = False
    sender: str = ""
    wrong: list[str] = field(default_factory=list)

    @cached_property
    def records(self) -> "Records":
        """The record. Raises InputProblems where it cannot be opened."""
        return self.opening()

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
    def desk(self) -> "Desk":
        """The desk of the day."""
        return self.serving.desk()

    @cached_property
    def language(self) -> str:
        """The language of the page: a client's own, English for the rest."""
        return self.serving.language if self.session is None or self.is_client else ENGLISH

    @cached_property
    def kb(self) -> KnowledgeBase:
        """The rule book in the language of the page. Its values and rules are those of `desk.kb`."""
        return self.serving.kb_in(self.language)

    @property
    def is_imperial(self) -> bool:
        """Tell whether pounds and inches are shown."""
        return self.serving.units is UnitSystem.IMPERIAL

    @cached_property
    def words(self) -> PageWords:
        """The words of the page."""
        kb = self.serving.kb_in(ENGLISH)
        return PageWords(
            read_language(kb, self.language),
            read_language(kb, ENGLISH),
            Phrasebook(self.kb, self.is_imperial),
        )

    @cached_property
    def client(self) -> "Client":
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
    def person(self) -> "Person":
        """The client as they stand on the day. Raises InputProblems, NotHere."""
        return self.desk.standing(self.records, self.client.handle)

    def show(self, template: str, status: int = 0, **parts: Any) -> Response:
        """Return a page with what every page carries. status: 400 where a form was refused, else 200."""
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
            "problems": self.wrong,
        }
        status = status or (400 if self.wrong else 200)
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


def cookie_name(serving: Serving) -> str:
    """Return the cookie's name: two servers on one machine do not take each other's."""
    plain = serving.host.replace(".", "-").replace(":", "-")
    name = f"notes_{plain}_{serving.port}"
    return f"__Host-{name}" if serving.is_secure else name
