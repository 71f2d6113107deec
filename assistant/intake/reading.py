"""How long questions take to read and answer. An estimate of ours, for telling how much is left."""

from collections.abc import Iterable

from assistant.intake.dialogue import Dialogue
from assistant.intake.slot import Audience, Slot

# Quiet reading of a text that matters (from memory; silent reading is 200 to 260 words a minute), and our own
# guess for one tap, one word or one number.
WORDS_A_MINUTE = 200.0
SECONDS_AN_ANSWER = 4.0


def words_of(slot: Slot, audience: Audience) -> int:
    """Return how many words stand on a question: text, help and what is chosen from."""
    shown = [slot.text(audience), slot.help(audience), *(label for label, _ in slot.options)]
    return sum(len(text.split()) for text in shown)


def minutes_for(slots: Iterable[Slot], audience: Audience) -> float:
    """Return the minutes for reading and answering these questions as one audience is asked them."""
    asked = [slot.asked_of(audience) for slot in slots]
    words = sum(words_of(slot, audience) for slot in asked)
    return words / WORDS_A_MINUTE + len(asked) * SECONDS_AN_ANSWER / 60


def minutes_left(dialogue: Dialogue) -> int:
    """Return whole minutes for what is still open, at least one. What waits for a tick is not counted."""
    slots = dialogue.form.slots
    ahead = (slots[i] for i in dialogue.open_questions)
    return max(1, round(minutes_for(ahead, dialogue.audience)))
