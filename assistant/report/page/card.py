"""How an exercise is done, as a card of text."""

from collections.abc import Sequence

from assistant.plan.how_to import HowToCard, Named
from assistant.plan.phrases import underlined, wrapped
from assistant.report.page.words import PageWords


def card_text(card: HowToCard, words: PageWords, *, coach: bool) -> str:
    """Return a card in lines of the page's width. coach: whether what to watch is told."""
    title = words.plain(card.exercise.name)
    rows = [title, "=" * len(title)]
    rows += _part("how_set_up", [card.set_up], words)
    rows += underlined(words.plain(words.say("how_steps")))
    for number, step in enumerate(card.steps, start=1):
        rows += wrapped(words.plain(step), f"{number}. ", "   ")
    rows += _part("how_feel", [card.feel], words)
    rows += underlined(words.plain(words.say("how_faults")))
    for fault, mend in card.faults:
        rows += wrapped(words.plain(words.say("how_fault", fault=fault, mend=mend)), "- ")
    rows += _part("how_stop", [card.stop], words)
    rows += _part("how_first_load", [card.first_load], words)
    for key, others in others_of(card):
        rows += _part(key, ["; ".join(other.name for other in others)], words)
    if coach:
        rows += _part("how_watch", [card.watch], words)
    return "\n".join([*rows, "", *wrapped(words.plain(words.say("footer_care")), rest=""), ""])


def others_of(card: HowToCard) -> list[tuple[str, Sequence[Named]]]:
    """Return the other exercises a card names, by the message that stands above them."""
    shelves: tuple[tuple[str, Sequence[Named]], ...] = (
        ("how_easier", card.easier),
        ("how_harder", card.harder),
        ("how_without_kit", card.without_kit),
    )
    return [(key, others) for key, others in shelves if others]


def _part(key: str, texts: Sequence[str], words: PageWords) -> list[str]:
    rows = underlined(words.plain(words.say(key)))
    return [*rows, *(row for text in texts for row in wrapped(words.plain(text), rest=""))]
