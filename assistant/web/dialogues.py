"""An intake as pages: its draft on the disk, where its dialogue stands, and what a sent form makes of it.

A draft lies in the server's own folder and is opened for each answer, so that a server that is killed loses
nothing, and a second window sees what the first one said.
"""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from markupsafe import Markup
from starlette.responses import Response

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, replay, start
from assistant.intake.drafts import Draft, Header, Remembered, open_draft
from assistant.intake.events import Confirmed, Event
from assistant.intake.form import form_of
from assistant.intake.parse import answer_in_words
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value
from assistant.web.asked import asked, in_place, is_complete, step_of
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
class Taken:
    """What became of a sent form.

    said: why the question stands as it did; None where the form was taken. notice: for the next page.
    """

    said: Said | None = None
    notice: str = ""


class Remembers(Protocol):
    """A draft or a check-in: what is confirmed is on the disk when this returns."""

    def remember(self, event: Event) -> None: ...  # noqa: D102 - said above


@dataclass
class Held:
    """Where a dialogue stands. told: to be read before going on.

    events, name: how many events its draft held then, and whose it is; a round of questions has no draft.
    """

    dialogue: Dialogue
    told: str = ""
    events: int = 0
    name: str = ""

    @property
    def kept(self) -> dict[str, Value]:
        """What is kept of the answers: all but the session-only one, with what they settle."""
        settled = self.dialogue.settled.items()
        return {fact: value for fact, value in settled if fact not in SESSION_ONLY_FACTS}

    @property
    def is_complete(self) -> bool:
        """Whether all questions but the session-only one are answered or left blank."""
        return is_complete(self.dialogue)

    def to_first_open(self) -> None:
        """Go to the first question that is open."""
        self.dialogue = in_place(d.at_first_open(self.dialogue))

    def to_number(self, number: str) -> bool:
        """Go to the question of a number in the list of all answers; False where it names none."""
        slots = self.dialogue.form.slots
        index = int(number) if number.isascii() and number.isdecimal() else -1
        if index not in self.dialogue.applicable or slots[index].fact in SESSION_ONLY_FACTS:
            return False
        self.dialogue = d.edit(d.review(self.dialogue).dialogue, index).dialogue
        return True


@contextlib.contextmanager
def opened(visit: Visit, path: Path, header: Header) -> Iterator[tuple[Draft, Held]]:
    """Open a draft, and give it with where its dialogue stands. header: for one that begins now."""
    form = form_of(visit.kb, visit.desk.on)
    draft, remembered = open_draft(path, header, visit.kb, form)
    with draft:
        held = visit.here.held.get(_key(path))
        fresh = (
            isinstance(held, Held)
            and held.events == len(remembered.events)
            and held.dialogue.form.as_of == form.as_of
        )
        if not isinstance(held, Held) or not fresh:
            held = _resumed(visit, remembered)
            visit.here.held[_key(path)] = held
        yield draft, held


def thrown_away(visit: Visit, path: Path) -> None:
    """Delete a draft, and forget where its dialogue stands."""
    visit.here.held.pop(_key(path), None)
    path.unlink(missing_ok=True)


def taken(visit: Visit, draft: Remembers, held: Held) -> Taken:
    """Apply the form of a visit: what it answers is on the disk when this returns."""
    do = visit.sent("do")
    if do == "read":
        held.told = ""
        return Taken()
    before, step = held.dialogue, step_of(held.dialogue, visit.form)
    for event in step.events:
        draft.remember(event)
        held.events += 1
    held.dialogue = in_place(step.dialogue, before, back=do == "back")
    if step.notice and not step.events and held.dialogue.position == before.position:
        return Taken(_said(visit, step.notice, held.dialogue))
    held.told = step.support or held.told
    return Taken(notice=step.notice)


def _said(visit: Visit, notice: str, dialogue: Dialogue) -> Said:
    typed = (visit.form.get("answer") or [""])[-1]
    if not typed.strip() and visit.sent("do") in {"", "answer"}:
        return Said(visit.words.told("web_nothing_sent"), Markup(), "")
    lead = "web_not_taken" if dialogue.doubted is None else "web_is_it_right"
    return Said(visit.words.told(lead), visit.words.html(notice), typed)


def question_page(
    visit: Visit, template: str, held: Held, action: str, said: Said | None = None, **more: object
) -> Response:
    """Return the page of the present question. action: where its form goes."""
    dialogue = held.dialogue
    return visit.show(
        template,
        200 if said is None else 400,
        one=asked(dialogue, None if said is None else said.typed),
        units=dialogue.units,
        is_measure=dialogue.slot.question.quantity is not None,
        action=action,
        said=said,
        doubted=dialogue.doubted is not None,
        **more,
    )


def told_page(visit: Visit, template: str, held: Held, action: str) -> Response:
    """Return the page of what an answer asks for at once. action: where "go on" goes."""
    rows = [row.strip() for row in held.told.split("\n\n") if row.strip()]
    return visit.show(template, rows=rows, action=action)


@dataclass(frozen=True)
class Given:
    """An answer in the list of all. number: what the form sends to go to its question."""

    fact: str
    section: str
    text: str
    answer: Markup
    number: str


def rows_of(visit: Visit, dialogue: Dialogue) -> list[Given]:
    """Return the answers of a dialogue in the order of its questions."""
    titles = {section.id: section.title for section in dialogue.form.sections}
    rows = []
    for index in dialogue.applicable:
        slot = dialogue.form.slots[index].asked_of(dialogue.audience)
        if slot.fact in SESSION_ONLY_FACTS:
            continue
        value = dialogue.answers.get(slot.fact, Status.UNKNOWN)
        said = visit.words.html(answer_in_words(value, slot, dialogue.units))
        section = titles.get(slot.question.section, "")
        rows.append(Given(slot.fact, section, slot.text(dialogue.audience), said, str(index)))
    return rows


def _key(path: Path) -> str:
    return path.stem


def _resumed(visit: Visit, remembered: Remembered) -> Held:
    header = remembered.header
    form = form_of(visit.kb, visit.desk.on)
    dialogue = replay(start(form, header.audience, header.units), remembered.events)
    events = remembered.events
    told = ""
    if events and isinstance(events[-1], Confirmed):
        # Whoever was told something urgent may not have read it before the server went.
        last_said = events[-1]
        slot = form.slots[form.index_of(last_said.fact)].asked_of(header.audience)
        told = slot.told_at_once(last_said.value, header.audience)
    return Held(in_place(dialogue), told, len(events), header.name)
