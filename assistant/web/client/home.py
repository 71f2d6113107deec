"""A client's first page: today, or where the questions go on."""

from starlette.responses import Response

from assistant.web.visit import Visit


def home(visit: Visit) -> Response:
    """Send a client to what comes next for them."""
    return visit.show("client/home.html", client=visit.client)
