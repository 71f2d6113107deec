"""Whether a session may still go on, and the line that every look at a record leaves."""

import datetime as dt

from assistant.model.chain import digest
from assistant.records.access import write_access
from assistant.records.store import Client, Records
from assistant.records.team import Account, account_of, opened_by
from assistant.web.serving import Serving
from assistant.web.sessions import Role, Session

_ACCOUNT, _LINK = "account", "link"


def session_of_account(account: Account) -> Session:
    """Return a new session for an account."""
    ground = f"{_ACCOUNT}:{digest(account.password)}"
    return Session(Role(account.role), account.name, account.client, ground=ground)


def session_of_link(link_hash: str, client: Client) -> Session:
    """Return a new session for whoever holds a client's link."""
    return Session(Role.CLIENT, client.name, client.token, ground=f"{_LINK}:{link_hash}")


def still_stands(records: Records, session: Session, on: dt.date) -> bool:
    """Tell whether the account or the link that a session came from is still what it was.

    Another program may take an account away, set a password or withdraw a link at any time.
    """
    kind, _, proof = session.ground.partition(":")
    if kind == _LINK:
        opened = opened_by(records, proof, on)
        return opened is not None and opened.token == session.client
    if kind != _ACCOUNT:
        return False
    account = account_of(records, session.name)
    return (
        account is not None
        and account.role == session.role.value
        and digest(account.password) == proof
    )


def note(
    serving: Serving, records: Records, session: Session, page: str, token: str | None
) -> None:
    """Write down who looks at whose record. page: its pattern. token: None for all clients at once.

    A client stands there without a name, so that nothing is left of it when they are forgotten.
    """
    who = "" if session.role is Role.CLIENT else session.name
    role = session.role.value
    write_access(records, serving.now(), who=who, role=role, page=page, token=token)
