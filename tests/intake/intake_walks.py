"""Whole walks through the questions of a form, by texts that a person types."""

from collections.abc import Callable

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue
from assistant.intake.form import Audience, Form, Slot
from assistant.intake.typed import act
from assistant.model.facts import FactType
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status


def quiet_answer(slot: Slot) -> str:
    """The answer with the least behind it: no, nothing, the first choice, an ordinary number."""
    if slot.yes_item:
        return "no"
    if slot.declaration.type is FactType.CHOICES:
        some = slot.question.needs_one or "none" in slot.choices
        return slot.choices[0] if some else "none"
    if slot.options:
        quiet = {value: label for label, value in slot.options}
        return str(quiet.get(Status.NONE, quiet.get(False, slot.options[0][0])))
    if slot.declaration.type is FactType.BOOLEAN:
        return "no"
    if slot.declaration.allows_none:
        return "none"
    return ordinary(slot)


def open_answer(slot: Slot) -> str:
    """An answer that opens further questions: yes, everything, a young age."""
    if slot.fact in SESSION_ONLY_FACTS:
        return "no"
    if slot.yes_item:
        return "yes"
    if slot.declaration.type is FactType.CHOICES:
        return ", ".join(choice for choice in slot.choices if choice != "none")
    if slot.options:
        loud = {value: label for label, value in slot.options}
        return str(loud.get(True, slot.options[0][0]))
    return "yes" if slot.declaration.type is FactType.BOOLEAN else ordinary(slot)


def ordinary(slot: Slot) -> str:
    known = {
        "client.age_years": "17",
        "client.height_cm": "165 cm",
        "client.weight_kg": "63.5 kg",
        "screen.bp_systolic": "118",
        "screen.bp_diastolic": "76",
    }
    if slot.declaration.type is FactType.DATE:
        return "2026-09-01"
    if slot.fact in known:
        return known[slot.fact]
    low, high = slot.declaration.range or (0.0, 1.0)
    return f"{max(low, 0.0) + (high - max(low, 0.0)) // 8:g}"


def skipped(_: Slot) -> str:
    return "skip"


WALKS: dict[str, Callable[[Slot], str]] = {
    "skipped": skipped,
    "quiet": quiet_answer,
    "open": open_answer,
}


def walk(form: Form, audience: Audience, text_for: Callable[[Slot], str]) -> list[Dialogue]:
    """Every state of a walk to the review."""
    dialogue, states = d.start(form, audience), []
    while not dialogue.in_review:
        states.append(dialogue)
        step = act(dialogue, text_for(dialogue.slot))
        assert step.events, (dialogue.slot.fact, text_for(dialogue.slot), step.notice)
        dialogue = step.dialogue
    return [*states, dialogue]
