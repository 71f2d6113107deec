"""Who looked at whose record: for the head trainer, and for a client about their own."""

from starlette.responses import Response

from assistant.records.access import ALL_CLIENTS, Access, accesses, trail_of_accesses
from assistant.records.chain import subject_of
from assistant.web.visit import Visit

A_PAGE = 100
_MOST_DIGITS = 12


def of_everybody(visit: Visit) -> Response:
    """Show the newest looks at all records, and whether the trail is whole."""
    count, head, problems = trail_of_accesses(visit.records)
    found = accesses(visit.records, before=_before(visit), most=A_PAGE)
    names = {subject_of(each.token): each for each in visit.records.clients()}
    return visit.show(
        "team/trail.html",
        lines=found,
        names=names,
        everybody=ALL_CLIENTS,
        client=None,
        count=count,
        head=head,
        problems=problems,
        older=_older(found),
    )


def of_client(visit: Visit) -> Response:
    """Show the looks at one client's record."""
    found = _of(visit)
    return visit.show(
        "team/trail.html",
        lines=found,
        names={subject_of(visit.client.token): visit.client},
        everybody=ALL_CLIENTS,
        client=visit.client,
        problems=(),
        older=_older(found),
    )


def my_own(visit: Visit) -> Response:
    """Show a client who looked at their record."""
    found = _of(visit)
    return visit.show("team/my_trail.html", lines=found, older=_older(found))


def _of(visit: Visit) -> list[Access]:
    token = visit.client.token
    return accesses(visit.records, token=token, before=_before(visit), most=A_PAGE)


def _before(visit: Visit) -> int | None:
    text = visit.asked("before")
    return int(text) if text.isascii() and text.isdigit() and len(text) < _MOST_DIGITS else None


def _older(found: list[Access]) -> int | None:
    return found[-1].number if len(found) == A_PAGE else None
