"""The coach's first page: who needs me first, and everybody else."""

from starlette.responses import Response

from assistant.web.visit import Visit


def desk(visit: Visit) -> Response:
    """Show all clients, whoever needs the coach first."""
    return visit.show("coach/desk.html", clients=visit.records.clients())
