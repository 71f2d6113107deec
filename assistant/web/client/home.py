"""A client's first page: today, or where the questions begin."""

from starlette.responses import Response

from assistant.web.client import intake
from assistant.web.client.today import today
from assistant.web.visit import Visit


def home(visit: Visit) -> Response:
    """Show today; to somebody who is alone and not in the record yet, where to begin."""
    if visit.serving.alone and not visit.records.clients():
        return intake.welcome(visit)
    return today(visit)
