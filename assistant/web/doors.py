"""The ways in and out: the launch link, the lock, leaving quickly, and the help page."""

from starlette.responses import HTMLResponse, PlainTextResponse, Response

from assistant.knowledge.first_steps import CRISIS_FLAG
from assistant.model.errors import InputProblems
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.web import pin, show
from assistant.web.sessions import Role, Session
from assistant.web.visit import EVERYBODY, Page, Visit, cookie_name

HOME = {Role.CLIENT: "/me", Role.COACH: "/desk", Role.TRAINER: "/desk"}

PAGES = (
    Page("/", "doors:home", EVERYBODY),
    Page("/start", "doors:start", EVERYBODY),
    Page("/start", "doors:enter", EVERYBODY, posts=True),
    Page("/closed", "doors:closed", EVERYBODY),
    Page("/unlock", "doors:unlock", EVERYBODY),
    Page("/unlock", "doors:unlocked", EVERYBODY, posts=True),
    Page("/lock", "doors:lock", frozenset(Role), posts=True, about_nobody=True),
    Page("/pin", "doors:pin_page", frozenset(Role)),
    Page("/pin", "doors:keep_pin", frozenset(Role), posts=True),
    Page("/leave", "doors:leave", EVERYBODY, posts=True),
    Page("/blank", "doors:blank", EVERYBODY),
    Page("/help", "doors:help_page", EVERYBODY),
    Page("/style.css", "doors:style", EVERYBODY),
    Page("/steps.js", "doors:script", EVERYBODY),
)


# What only a server for one machine has.
AT_HOME = frozenset({"/start", "/pin"})


def home(visit: Visit) -> Response:
    """Send whoever is known to their own first page."""
    if visit.session is None:
        return visit.go("/closed")
    return visit.go("/unlock" if visit.session.locked else HOME[visit.session.role])


def start(visit: Visit) -> Response:
    """Show one button: a link alone opens nothing, so that nothing that merely looks at links uses it up."""
    return visit.show("start.html", key=visit.asked("key"))


def enter(visit: Visit) -> Response:
    """Use up a launch link."""
    session = visit.sessions.redeem(visit.sent("key"))
    if session is None:
        return visit.show("closed.html", 403, used=True)
    return opened(visit, session)


def opened(visit: Visit, session: Session) -> Response:
    """Open a session in place of the browser's last one; its cookie goes to this server alone, to no script."""
    visit.sessions.end(visit.cookie)
    answer = visit.go("/")
    answer.set_cookie(
        cookie_name(visit.serving),
        visit.sessions.open(session),
        httponly=True,
        samesite="strict",
        secure=visit.serving.is_secure,
        path="/",
    )
    return answer


def closed(visit: Visit) -> Response:
    """Say how to open these pages."""
    return visit.show("closed.html", 200, used=False)


def unlock(visit: Visit) -> Response:
    """Ask for the PIN of a locked screen; without one the session is over."""
    session = visit.session
    if session is None or not session.locked:
        return home(visit)
    if not _opens_again(visit):
        return _ended(visit, "/closed")
    return visit.show("unlock.html", wrong=session.wrong_pins > 0)


def unlocked(visit: Visit) -> Response:
    """Open a locked screen with its PIN; after a few wrong ones the session is over."""
    session = visit.session
    if session is None or not session.locked:
        return home(visit)
    if _opens_again(visit) and pin.is_right(visit.serving.folder, visit.sent("pin")):
        session.locked, session.wrong_pins, session.seen = False, 0, visit.serving.seconds()
        return visit.go("/")
    session.wrong_pins += 1
    if session.wrong_pins >= pin.MOST_WRONG:
        return _ended(visit, "/closed")
    return visit.show("unlock.html", 403, wrong=True)


def lock(visit: Visit) -> Response:
    """Lock the screen, or end the session where no PIN could open it again."""
    return _shut(visit, "/unlock")


def pin_page(visit: Visit) -> Response:
    """Show where a PIN is set."""
    return visit.show("pin.html", problem="", is_set=pin.has_pin(visit.serving.folder))


def keep_pin(visit: Visit) -> Response:
    """Keep a new PIN."""
    folder = visit.serving.folder
    if pin.has_pin(folder) and not pin.is_right(folder, visit.sent("old")):
        return visit.show("pin.html", 400, problem="wrong", is_set=True)
    try:
        pin.set_pin(folder, visit.sent("pin"))
    except InputProblems:
        return visit.show("pin.html", 400, problem="form", is_set=pin.has_pin(folder))
    return visit.go("/")


def leave(visit: Visit) -> Response:
    """Leave quickly: nothing of these pages is on the screen, and Back does not bring it."""
    return _shut(visit, "/blank")


def blank(_: Visit) -> Response:
    """Show a page with nothing on it."""
    return show.page("blank.html")


def help_page(visit: Visit) -> Response:
    """Show what everybody is shown: what to do first when something is badly wrong, whoever asks."""
    kb = visit.kb
    said = [
        question.closing_self or question.closing or ""
        for question in kb.questions
        if question.fact in SESSION_ONLY_FACTS
    ]
    urgent = [
        step.to("self")
        for flag in kb.flags.values()
        if flag.severity == "stop" and flag.id != CRISIS_FLAG
        for step in flag.first_steps
        if step.words
    ]
    return visit.show("help.html", said=said, urgent=list(dict.fromkeys(urgent)))


def style(_: Visit) -> Response:
    """Return the style sheet: that of the printed plan, and that of these pages."""
    sheets = (
        show.text_of(name) for name in ("style.css", "print.css", "web.css", "client/client.css")
    )
    return HTMLResponse("\n".join(sheets), media_type="text/css", headers=_OURS)


def script(_: Visit) -> Response:
    """Return the one script; every page works without it."""
    return PlainTextResponse(show.text_of("steps.js"), media_type="text/javascript", headers=_OURS)


# Our own files tell nothing about anybody, so a browser may hold them for a while.
_OURS = {"cache-control": "private, max-age=300"}


def _opens_again(visit: Visit) -> bool:
    """Tell whether a PIN opens a locked screen: a team shares none, so its idle sessions are over."""
    return not visit.serving.team and pin.has_pin(visit.serving.folder)


def _shut(visit: Visit, then: str) -> Response:
    if visit.session is not None and _opens_again(visit):
        visit.session.locked = True
        return visit.go(then)
    return _ended(visit, then)


def _ended(visit: Visit, then: str) -> Response:
    visit.sessions.end(visit.cookie)
    answer = visit.go(then)
    answer.delete_cookie(cookie_name(visit.serving), path="/")
    # Pages already seen are not to be found with the Back button.
    answer.headers["clear-site-data"] = '"cache"'
    return answer
