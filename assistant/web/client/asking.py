"""One question on a page, and what was sent; shared by the first questions and every later round of them."""

from starlette.responses import Response

from assistant.intake.dialogue import Dialogue
from assistant.web.asked import asked, is_yes, last_question
from assistant.web.dialogues import Said
from assistant.web.visit import Visit


def question_page(
    visit: Visit, dialogue: Dialogue, action: str, said: Said | None = None, **more: object
) -> Response:
    """Return the page of the present question. action: where its form goes."""
    one = asked(dialogue, None if said is None else said.typed)
    return visit.show(
        "client/ask.html",
        200 if said is None else 400,
        one=one,
        units=dialogue.units,
        is_measure=dialogue.slot.question.quantity is not None,
        action=action,
        said=said,
        doubted=dialogue.doubted is not None,
        **{"steps": True, **more},
    )


def told_page(visit: Visit, text: str, action: str) -> Response:
    """Return the page of what an answer asks for at once. action: where "go on" goes."""
    rows = [row.strip() for row in text.split("\n\n") if row.strip()]
    return visit.show("client/told.html", rows=rows, action=action)


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
