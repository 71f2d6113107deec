"""All that is held about a client: looked at, taken along, and forgotten for good."""

from collections import Counter

from starlette.responses import Response

from assistant.intake.drafts import forget_draft
from assistant.records.projection import last_word
from assistant.records.store import handle_of
from assistant.web.coach.forms import missing
from assistant.web.coach.intake import forget_begun
from assistant.web.visit import Visit


def show(visit: Visit) -> Response:
    """Show what is held, in numbers."""
    lines = visit.records.history(visit.client)
    counted = Counter(spot.measure for spot in last_word(lines))
    return visit.show(
        "coach/held.html",
        lines=len(lines),
        measures=sorted(counted.items()),
        label=visit.words.phrases.label,
    )


def forget_client(visit: Visit) -> Response:
    """Forget a client whose name was typed."""
    client, typed = visit.client, visit.sent("typed")
    if not typed or handle_of(typed) != client.handle:
        raise missing("Name", "it is not the name of this client; nothing was changed")
    gone = visit.desk.forget(visit.records, client)
    visit.serving.worked_out.clear()
    forget_draft(client.name)
    forget_begun(visit, client.name)
    visit.sessions.end_of_client(client.token)
    return visit.go("/desk", f"Forgotten: {gone.lines} lines, also in {gone.backups} backups.")
