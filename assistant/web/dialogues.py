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

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, replay, start
from assistant.intake.drafts import Draft, Header, Remembered, open_draft
from assistant.intake.events import Confirmed, Event
from assistant.intake.form import form_of
from assistant.intake.parse import answer_in_words
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status
from assistant.web.asked import Moved, in_place, moved
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


class Remembers(Protocol):
    """A draft or a check-in: what is confirmed is on the disk when this returns."""

    def remember(self, event: Event) -> None: ...  # noqa: D102 - said above


@dataclass
class Held:
    """Where a dialogue stands. events: how many the draft held then. told: to be read before going on."""

    dialogue: Dialogue
    events: int
    name: str
    told: str = ""


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


def taken(visit: Visit, draft: Remembers, held: Held) -> Answered:
    """Apply the form of a visit: what it answers is on the disk when this returns."""
    if visit.sent("do") == "read":
        held.told = ""
        return Answered(Moved(held.dialogue, (), "", ""), None)
    done = answered(visit, held.dialogue)
    for event in done.moved.events:
        draft.remember(event)
        held.events += 1
    held.dialogue = done.moved.dialogue
    if done.said is None:
        held.told = done.moved.told or held.told
    return done


def gone_to(held: Held, number: str) -> bool:
    """Go from the list of all answers to the question of a number; False where it names none."""
    there = at_number(held.dialogue, number)
    held.dialogue = there or held.dialogue
    return there is not None


def at_number(dialogue: Dialogue, number: str) -> Dialogue | None:
    """Return the dialogue at the question of a number in the list of answers; None where it names none."""
    slots = dialogue.form.slots
    index = int(number) if number.isascii() and number.isdecimal() else -1
    if index not in dialogue.applicable or slots[index].fact in SESSION_ONLY_FACTS:
        return None
    return d.edit(d.review(dialogue).dialogue, index).dialogue


def rows_of(visit: Visit, dialogue: Dialogue) -> list[dict[str, object]]:
    """Return the answers of a dialogue in order: section, question, answer, number of the question."""
    titles = {section.id: section.title for section in dialogue.form.sections}
    rows: list[dict[str, object]] = []
    for index in dialogue.applicable:
        slot = dialogue.form.slots[index].asked_of(dialogue.audience)
        if slot.fact in SESSION_ONLY_FACTS:
            continue
        value = dialogue.answers.get(slot.fact, Status.UNKNOWN)
        rows.append({
            "section": titles.get(slot.question.section, ""),
            "text": slot.text(dialogue.audience),
            "answer": visit.words.html(answer_in_words(value, slot, dialogue.units)),
            "number": index,
        })  # fmt: skip
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
    return Held(in_place(dialogue), len(events), header.name, told)
