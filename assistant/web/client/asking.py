"""One question on a page, and what was sent; shared by the first questions and every later round of them."""

from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response

from assistant.intake.dialogue import Dialogue
from assistant.web.asked import Moved, asked, is_yes, last_question, moved
from assistant.web.visit import Visit


@dataclass(frozen=True)
class Said:
    """What a page says about an answer that was not taken yet.

    lead: in the reader's language. detail: what exactly, as the dialogue words it. typed: what was sent.
    """

    lead: Markup
    detail: Markup
    typed: str


@dataclass(frozen=True)
class Answered:
    """A sent form, applied. said: why the question stands as it did; None where it was taken."""

    moved: Moved
    said: Said | None
    notice: str = ""


def answered(visit: Visit, dialogue: Dialogue) -> Answered:
    """Apply the form of a visit to a dialogue, with words for what was not taken."""
    after, words = moved(dialogue, visit.form), visit.words
    if not after.notice or after.events or after.dialogue.position != dialogue.position:
        return Answered(after, None, after.notice)
    typed = (visit.form.get("answer") or [""])[-1]
    if not typed.strip() and visit.sent("do") in {"", "answer"}:
        return Answered(after, Said(words.told("web_nothing_sent"), Markup(), ""))
    doubted = after.dialogue.doubted is not None
    lead = words.told("web_is_it_right" if doubted else "web_not_taken")
    return Answered(after, Said(lead, words.html(after.notice), typed))


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
