"""The question whose answer is kept nowhere; shared by the first questions and every later round of them."""

from starlette.responses import Response

from assistant.intake.dialogue import Dialogue
from assistant.web.asked import is_yes, last_question
from assistant.web.visit import Visit


def last_page(visit: Visit, dialogue: Dialogue, action: str) -> Response:
    """Return the page of the question whose answer is kept nowhere; its closing text is there for everyone."""
    slot = last_question(dialogue)
    assert slot is not None  # asked only where it applies
    return visit.show(
        "client/last.html", slot=slot, closing=slot.closing(dialogue.audience), action=action
    )


def crisis(visit: Visit, dialogue: Dialogue) -> Response | None:
    """Return the page that answers a yes to that question; None after any other answer."""
    slot = last_question(dialogue)
    if slot is None or not is_yes(visit.form):
        return None
    page = slot.crisis.get("self")
    rows = page.page if page is not None else (slot.closing(dialogue.audience),)
    return visit.show("client/crisis.html", rows=rows, asks=page is not None)
