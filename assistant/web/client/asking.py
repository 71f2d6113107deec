"""One question on a page, and what was sent; shared by the first questions and every later round of them."""

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup
from starlette.responses import Response

from assistant.intake.dialogue import Dialogue
from assistant.intake.events import UnitsSwitched
from assistant.intake.form import Slot
from assistant.intake.parse import allowed_in_words, answer_in_words
from assistant.intake.quantities import UnitSystem
from assistant.model.facts import FactType
from assistant.model.values import Status, Value
from assistant.report.page.words import PageWords
from assistant.web.asked import Moved, asked, is_yes, last_question, moved
from assistant.web.visit import Visit

_NUMBERS = {FactType.NUMBER, FactType.INTEGER}


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
    for event in after.events:
        if isinstance(event, UnitsSwitched):
            key = "web_metric" if event.units is UnitSystem.METRIC else "web_imperial"
            return Answered(after, None, words.say(key))
    if not after.notice:
        return Answered(after, None)
    detail = words.free(after.notice)
    if after.events or after.dialogue.position != dialogue.position:
        return Answered(after, None, detail)
    typed = (visit.form.get("answer") or [""])[-1]
    if not typed.strip() and visit.sent("do") in {"", "answer"}:
        return Answered(after, Said(words.told("web_nothing_sent"), Markup(), ""))
    doubted = after.dialogue.doubted is not None
    lead = words.told("web_is_it_right" if doubted else "web_not_taken")
    return Answered(after, Said(lead, words.html(detail), typed))


def question_page(
    visit: Visit, dialogue: Dialogue, action: str, said: Said | None = None, **more: object
) -> Response:
    """Return the page of the present question. action: where its form goes."""
    one = asked(dialogue, None if said is None else said.typed)
    return visit.show(
        "client/ask.html",
        200 if said is None else 400,
        one=one,
        how=how(dialogue.slot, dialogue.units, visit.words),
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


def how(slot: Slot, units: UnitSystem, words: PageWords) -> Markup:
    """Return what to type, in the reader's language as far as it goes."""
    kind = slot.declaration.type
    if kind in _NUMBERS:
        return words.told("web_how_number", range=in_range(slot, units, words))
    if kind is FactType.DATE:
        return words.told("web_how_date")
    if slot.lines is not None:
        return words.html(words.free(slot.lines.how))
    return words.told("web_how_text")


def in_range(slot: Slot, units: UnitSystem, words: PageWords) -> str:
    """Return the allowed range of a number as the reader writes it."""
    between = words.say("web_to")
    return words.phrases.written(allowed_in_words(slot, units)).replace(" to ", f" {between} ")


def in_words(value: Value | None, slot: Slot, units: UnitSystem, words: PageWords) -> Markup:
    """Return an answer as the reader would say it."""
    if value is None or isinstance(value, Status):
        key = _STATUS_KEYS.get(value or Status.UNKNOWN)
        named = slot.question.labels.get(str(value)) if value is Status.NONE else None
        return words.html(named) if named else words.told(key or "web_none")
    plain_yes = isinstance(value, bool) and not slot.options
    if plain_yes or slot.yes_item:
        return words.told("web_yes" if value else "web_no")
    if value == ():
        return words.told("web_none")
    text = answer_in_words(value, slot, units)
    return words.html(words.phrases.written(text) if isinstance(value, float | int) else text)


_STATUS_KEYS: Mapping[Status, str] = {
    Status.UNKNOWN: "web_left_blank",
    Status.DECLINED: "web_declined",
    Status.NOT_APPLICABLE: "web_not_applicable",
}
