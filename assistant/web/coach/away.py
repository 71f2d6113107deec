"""Travel, holidays and illness of a client: told, listed, taken back."""

from starlette.responses import Response

from assistant.clients.time_away import kept_away, taken_back
from assistant.model.away import AWAY_KINDS
from assistant.web.coach.forms import by_of, day_of, missing
from assistant.web.visit import Visit


def keep(visit: Visit) -> Response:
    """Keep a time away, or take one back."""
    handle, by, since = visit.client.handle, by_of(visit), day_of(visit, "since")
    day_of(visit, "until")
    if since is None:
        raise missing("--since", "say its first day")
    if visit.sent("do") == "withdraw":
        version = taken_back(visit.desk, visit.records, handle, since, by)
    else:
        version = kept_away(
            visit.desk,
            visit.records,
            handle,
            kind=visit.sent("kind"),
            since=since.isoformat(),
            until=visit.sent("until"),
            equipment=[piece for piece in visit.form.get("equipment", []) if piece],
            by=by,
        )
    here = f"/desk/c/{visit.client.token}/away"
    return visit.go(here, f"Kept: version {version.number} of the plan.")


def show(visit: Visit) -> Response:
    """Show the times away that are told."""
    kb, label = visit.desk.kb, visit.words.phrases.label
    kit = kb.book.choices_of(kb.facts["client.equipment"])
    return visit.show(
        "coach/away.html",
        told_away=visit.person.case.week.away,
        kinds=[(kind, label(kind).capitalize()) for kind in AWAY_KINDS],
        kit=[(piece, label(piece)) for piece in kit],
        picked=visit.form.get("equipment", []),
        label=label,
    )
