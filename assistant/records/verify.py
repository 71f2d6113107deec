"""Whether the history is what was written: every hash, every number, every head."""

from dataclasses import dataclass

from sqlalchemy import Connection, select

from assistant.model.chain import Link
from assistant.model.errors import Problem
from assistant.records.access import trail_of_accesses
from assistant.records.chain import line_hash, subject_of
from assistant.records.connect import reading
from assistant.records.schema import CLIENT, HISTORY, TRAIL
from assistant.records.store import Client, Records, line_of
from assistant.records.trail import last_sound


@dataclass(frozen=True)
class Checked:
    """What a look at all hashes found. problems: empty if the history is intact."""

    clients: int
    lines: int
    problems: tuple[Problem, ...]


def verify(records: Records) -> Checked:
    """Read every line and compare hashes, numbers and heads."""
    problems: list[Problem] = []
    lines = 0
    with reading(records.engine, records.place) as connection:
        clients = [Client(**row) for row in connection.execute(select(CLIENT)).mappings()]
        for client in clients:
            found, problem = _history(connection, client)
            lines += found
            if problem:
                where = f"{client.handle}:{problem[0]}"
                problems.append(Problem(where, "history-changed", problem[1]))
        problems += _trail(connection, clients)
    problems += trail_of_accesses(records)[2]
    return Checked(len(clients), lines, tuple(problems))


def _history(connection: Connection, client: Client) -> tuple[int, tuple[int, str] | None]:
    query = select(HISTORY).where(HISTORY.c.client_id == client.id).order_by(HISTORY.c.number)
    before = Link()
    for row in connection.execute(query).mappings():
        line = line_of(row)
        number = before.sequence + 1
        fault = before.fault(line.number, line.previous)
        if fault == "number":
            return number, (number, f"line {number} is missing; line {line.number} follows")
        if fault == "previous":
            return number, (number, "this line does not follow the one before it")
        if line.hash != line_hash(client.token, number, line, before.hash):
            return number, (number, "this line is not what was written")
        before = before.next(line.hash)
    number = before.sequence
    if before != Link(client.lines, client.head):
        return number, (number, f"the history ends here; {client.lines} lines were written")
    return number, None


def _trail(connection: Connection, clients: list[Client]) -> list[Problem]:
    sound, is_whole = last_sound(connection, TRAIL)
    if not is_whole:
        where, text = f"trail:{sound.sequence + 1}", "the trail is not what was written"
        return [Problem(where, "trail-changed", text)]
    problems = []
    told = connection.execute(select(TRAIL.c.event, TRAIL.c.subject)).all()
    added = {subject for event, subject in told if event == "added"}
    forgotten = {subject for event, subject in told if event == "forgotten"}
    there = {subject_of(client.token) for client in clients}
    if there - added or (there & forgotten):
        problems.append(Problem("trail", "client-untold", "a client is here without being added"))
    if added - forgotten - there:
        text = f"{len(added - forgotten - there)} clients are gone without having been forgotten"
        problems.append(Problem("trail", "client-gone", text))
    return problems
