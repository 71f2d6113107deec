"""A client's link: made and withdrawn by a coach, and followed by the client."""

import datetime as dt
import secrets

from starlette.responses import Response

from assistant.model.chain import digest
from assistant.records.team import link_of, make_link, opened_by, withdraw_link
from assistant.web.doors import opened
from assistant.web.team.standing import session_of_link
from assistant.web.visit import Visit

# A link opens the client's own pages for so long (our own judgement): four weeks are one look to the next.
LINK_DAYS = 28
_HELD = "link"


def arrive(visit: Visit) -> Response:
    """Show one button: a link alone opens nothing, so that nothing that merely looks at links enters."""
    return visit.show("team/link.html", key=visit.asked("key"), is_over=False)


def follow(visit: Visit) -> Response:
    """Open a session of the one client a link belongs to, as long as the link is good."""
    key = digest(visit.sent("key"))
    client = opened_by(visit.records, key, visit.desk.on)
    if client is None:
        return visit.show("team/link.html", 403, key="", is_over=True)
    return opened(visit, session_of_link(key, client))


def link(visit: Visit) -> Response:
    """Show a client's link: itself once, right after it was made, and from then on only until when it is good."""
    made = visit.here.held.pop(_HELD, None)
    shown = made[1] if made is not None and made[0] == visit.client.token else ""
    known = link_of(visit.records, visit.client, visit.desk.on)
    return visit.show("team/client_link.html", link=known, shown=shown, days=LINK_DAYS)


def change(visit: Visit) -> Response:
    """Make a new link, which ends the one before, or withdraw it."""
    client, on = visit.client, visit.desk.on
    page = f"/desk/c/{client.token}/link"
    if visit.sent("do") == "withdraw":
        withdraw_link(visit.records, client)
        return visit.go(page, "The link is withdrawn. It opens nothing any more.")
    if visit.sent("do") != "make":
        return visit.go(page)
    key = secrets.token_urlsafe(32)
    until = on + dt.timedelta(days=LINK_DAYS)
    make_link(visit.records, client, key, on, until, visit.here.name)
    origin = min(visit.serving.origins)
    visit.here.held[_HELD] = (client.token, f"{origin}/link?key={key}")
    return visit.go(page)
