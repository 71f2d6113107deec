"""Who may sign in to a team's record, and the links of its clients: hashes only, never what was typed."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from assistant.model.chain import digest
from assistant.model.errors import InputProblems, Problem
from assistant.records.connect import reading, writing
from assistant.records.schema import ACCOUNT, CLIENT, CLIENT_LINK
from assistant.records.store import Client, Records, check_name, handle_of

ROLES = ("client", "coach", "trainer")


@dataclass(frozen=True)
class Account:
    """Somebody who signs in. client: the token of whose record, empty but for the role `client`. password: its hash."""

    id: int
    handle: str
    name: str
    role: str
    password: str
    added_on: dt.date
    client: str


_ACCOUNTS = select(
    *(each for each in ACCOUNT.c if each is not ACCOUNT.c.client_id),
    func.coalesce(CLIENT.c.token, "").label("client"),
).outerjoin(CLIENT, CLIENT.c.id == ACCOUNT.c.client_id)


@dataclass(frozen=True)
class ClientLink:
    """The one link of a client. until: the last day it opens anything."""

    client_id: int
    hash: str
    made_on: dt.date
    made_by: str
    until: dt.date


def accounts(records: Records) -> list[Account]:
    """Return all accounts in order of name."""
    with reading(records.engine, records.place) as connection:
        rows = connection.execute(_ACCOUNTS.order_by(ACCOUNT.c.handle)).mappings()
        return [Account(**row) for row in rows]


def account_of(records: Records, name: str) -> Account | None:
    """Return the account of a name as typed; None where there is none."""
    with reading(records.engine, records.place) as connection:
        query = _ACCOUNTS.where(ACCOUNT.c.handle == handle_of(name))
        row = connection.execute(query).mappings().first()
    return None if row is None else Account(**row)


def add_account(
    records: Records, name: str, role: str, password: str, on: dt.date, client: Client | None = None
) -> None:
    """Add somebody. password: its hash. client: for the role `client` alone. Raises InputProblems."""
    check_name(name)
    if role not in ROLES or (role == "client") != (client is not None):
        text = f"`{role}` is no role here; allowed: {', '.join(ROLES)}, `client` with a client"
        raise InputProblems([Problem("--role", "unknown-role", text)])
    row: dict[str, Any] = {
        "handle": handle_of(name),
        "name": name,
        "role": role,
        "client_id": None if client is None else client.id,
        "password": password,
        "added_on": on,
    }
    try:
        with writing(records.engine, records.place) as connection:
            connection.execute(insert(ACCOUNT).values(row))
    except InputProblems as problems:
        if isinstance(problems.__cause__, IntegrityError):
            text = f"`{name}` has an account already; choose another name, or set a new password"
            raise InputProblems([Problem("NAME", "name-taken", text)]) from problems
        raise


def remove_account(records: Records, account: Account) -> None:
    """Take an account away; what was done under its name stays in the trail."""
    with writing(records.engine, records.place) as connection:
        connection.execute(delete(ACCOUNT).where(ACCOUNT.c.id == account.id))


def set_password(records: Records, account: Account, password: str) -> None:
    """Set another password. password: its hash."""
    with writing(records.engine, records.place) as connection:
        query = update(ACCOUNT).where(ACCOUNT.c.id == account.id)
        connection.execute(query.values(password=password))


def make_link(
    records: Records, client: Client, key: str, on: dt.date, until: dt.date, by: str
) -> None:
    """Keep the hash of a new link; the one before opens nothing from now on."""
    row = {
        "client_id": client.id,
        "hash": digest(key),
        "made_on": on,
        "made_by": by,
        "until": until,
    }
    with writing(records.engine, records.place) as connection:
        # Two coaches at once take turns at the client's own row.
        connection.execute(select(CLIENT.c.id).where(CLIENT.c.id == client.id).with_for_update())
        connection.execute(delete(CLIENT_LINK).where(CLIENT_LINK.c.client_id == client.id))
        connection.execute(insert(CLIENT_LINK).values(row))


def withdraw_link(records: Records, client: Client) -> None:
    """Take a client's link away."""
    with writing(records.engine, records.place) as connection:
        connection.execute(delete(CLIENT_LINK).where(CLIENT_LINK.c.client_id == client.id))


def link_of(records: Records, client: Client, on: dt.date) -> ClientLink | None:
    """Return the link of a client that is good on a day; None where there is none."""
    with reading(records.engine, records.place) as connection:
        query = select(CLIENT_LINK).where(
            CLIENT_LINK.c.client_id == client.id, CLIENT_LINK.c.until >= on
        )
        row = connection.execute(query).mappings().first()
    return None if row is None else ClientLink(**row)


def opened_by(records: Records, link_hash: str, on: dt.date) -> Client | None:
    """Return the client whose link has this hash and is good on a day; None without one."""
    query = (
        select(CLIENT)
        .join(CLIENT_LINK, CLIENT_LINK.c.client_id == CLIENT.c.id)
        .where(CLIENT_LINK.c.hash == link_hash, CLIENT_LINK.c.until >= on)
    )
    with reading(records.engine, records.place) as connection:
        row = connection.execute(query).mappings().first()
    return None if row is None else Client(**row)
