"""The coach's first page: who needs me first, and everybody else."""

from starlette.responses import Response

from assistant.clients.attention import Need, in_order_of_need
from assistant.records.store import handle_of
from assistant.web.coach.intake import begun
from assistant.web.visit import Visit

_SOUGHT = "sought"


def desk(visit: Visit) -> Response:
    """Show all clients, whoever needs the coach first; or those of a name that was sought."""
    needs = in_order_of_need(visit.desk, visit.records)
    sought = str(visit.here.held.get(_SOUGHT, ""))
    shown = [need for need in needs if _is_meant(need, sought)]
    return visit.show(
        "coach/desk.html",
        sought=sought,
        needing=[need for need in shown if need.reasons],
        quiet=[need for need in shown if not need.reasons],
        count=len(needs),
        begun=begun(visit),
    )


def seek(visit: Visit) -> Response:
    """Keep the name that is sought: it stands in no address."""
    visit.here.held[_SOUGHT] = visit.sent("sought")[:200]
    return visit.go("/desk")


def _is_meant(need: Need, sought: str) -> bool:
    wanted = handle_of(sought) if sought else ""
    return wanted in need.client.handle
