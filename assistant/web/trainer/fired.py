"""For which clients of the record a rule fires on the day."""

from assistant.model.errors import EngineFault, InputProblems
from assistant.records.store import Client
from assistant.web.visit import Visit


def fired_for(visit: Visit, rule: str) -> tuple[list[Client], list[Client]]:
    """Return the clients a rule fires for on the day, and those whose plan cannot be made."""
    found, unknown = [], []
    for client in visit.records.clients():
        fired = _fired(visit, client)
        if fired is None:
            unknown.append(client)
        elif rule in fired:
            found.append(client)
    return found, unknown


def _fired(visit: Visit, client: Client) -> frozenset[str] | None:
    """Return the rules that fire for a client; worked out once for a day, a book and a history."""
    rests_on = (visit.desk.kb.logic_hash, visit.desk.on, client.head)
    known, fired = visit.serving.worked_out.get(client.token, (None, None))
    if known != rests_on:
        try:
            run = visit.desk.standing(visit.records, client.handle).run()
            fired = frozenset(record.rule_id for record in run.records.fired())
        except (EngineFault, InputProblems):
            fired = None
        visit.serving.worked_out[client.token] = (rests_on, fired)
    found: frozenset[str] | None = fired
    return found
