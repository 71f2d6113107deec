"""Signing in with a name and a password."""

from math import ceil

from starlette.responses import Response

from assistant.model.chain import digest
from assistant.records.store import handle_of
from assistant.records.team import account_of
from assistant.web.doors import opened
from assistant.web.team.passwords import is_right
from assistant.web.team.standing import session_of_account
from assistant.web.visit import Visit


def form(visit: Visit) -> Response:
    """Ask for name and password."""
    return visit.show("team/signin.html", problem="", name="")


def sign_in(visit: Visit) -> Response:
    """Open a session; what is wrong is said in the same words and after the same time for every name."""
    name, password = visit.sent("name"), (visit.form.get("password") or [""])[-1]
    about = f"name {digest(handle_of(name))}"  # whatever was typed, as short as any
    wait = visit.sessions.tries.begin(about, f"address {visit.sender}")
    if wait:
        return visit.show(
            "team/signin.html", 429, problem="wait", name=name, seconds=max(ceil(wait), 1)
        )
    account = account_of(visit.records, name)
    if not is_right(None if account is None else account.password, password) or account is None:
        return visit.show("team/signin.html", 403, problem="wrong", name=name)
    visit.sessions.tries.right(about)
    return opened(visit, session_of_account(account))
