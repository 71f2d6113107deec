"""What to do tomorrow morning: train, eat, sleep, and whom to see. All from lines of the plan."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from assistant.model.plan import Plan
from assistant.model.programme import Session
from assistant.plan.visibility import withheld_outputs
from assistant.programme.catalogue import Catalogue
from assistant.report.page.sessions import load_notes, next_session
from assistant.report.page.words import PageWords


@dataclass(frozen=True)
class Card:
    """One answer to "what do I do tomorrow": train, eat, move, sleep, or whom to see.

    day: when the session is, in words. after: small print under it, such as how to find a load.
    """

    id: str
    title: Markup
    lines: tuple[Markup, ...]
    session: Session | None = None
    day: str = ""
    after: tuple[Markup, ...] = ()


def tomorrow_cards(plan: Plan, catalogue: Catalogue, words: PageWords) -> tuple[Card, ...]:
    """Return the cards of the first page, in the order of a day."""
    withheld = withheld_outputs(plan.run)
    cards = [_train(plan, catalogue, words), _eat(plan, words)]
    cards += _named("sleep", words.told("card_sleep"), plan, words)
    cards.append(_see(plan, words, waits="exercise_any" in withheld))
    # Last, so that the first printed sheet still holds what nobody may miss.
    cards += _named("move", words.told("card_move"), plan, words)
    return tuple(cards)


def _named(name: str, title: Markup, plan: Plan, words: PageWords) -> list[Card]:
    said = _texts(plan, words, getattr(words.phrases.kb.plan.cards, name))
    return [Card(name, title, said)] if said else []


def _train(plan: Plan, catalogue: Catalogue, words: PageWords) -> Card:
    title, wanted = words.told("card_train"), words.phrases.kb.plan.cards
    programme, today = plan.programme, dt.date.fromisoformat(plan.as_of)
    meanwhile = _texts(plan, words, wanted.meanwhile)
    found = next_session(programme, today) if programme is not None else None
    if programme is None or found is None:
        missing = _texts(plan, words, wanted.no_sessions)
        text = words.told("no_sessions")
        return Card("train", title, meanwhile or missing or (text,))
    session, day = found
    free: tuple[Markup, ...] = ()
    if (day - today).days > 1:
        tomorrow = words.weekday(today + dt.timedelta(days=1))
        free = (words.told("free_day", day=tomorrow),)
    loads = (words.told("label_week_note"), *load_notes(programme, catalogue, words))
    # What is left out for a sore joint or by the screen is a caution: it belongs on the first page.
    spared = tuple(words.html(words.free(note)) for note in programme.notes)
    return Card(
        "train",
        title,
        (*free, *meanwhile, *spared),
        session,
        words.date(day, "date_weekday"),
        loads,
    )


def _eat(plan: Plan, words: PageWords) -> Card:
    wanted = words.phrases.kb.plan.cards
    figures, plain = _texts(plan, words, wanted.food_figures), _texts(plan, words, wanted.food)
    said = (*figures, *plain) if figures else (words.told("no_food_figures"), *plain)
    return Card("eat", words.told("card_eat"), said)


def _see(plan: Plan, words: PageWords, *, waits: bool) -> Card:
    """waits: training waits, so nobody reads that there is nobody to see before the start."""
    wanted = words.phrases.kb.plan.cards
    nobody = () if waits else (words.told("nobody_to_see"),)
    people, dates = _texts(plan, words, wanted.people), _texts(plan, words, wanted.dates)
    return Card("see", words.told("card_see"), (*(people or nobody), *dates))


def _texts(plan: Plan, words: PageWords, wanted: Sequence[str]) -> tuple[Markup, ...]:
    """Return the texts of lines by id, in the order asked for."""
    return tuple(words.html(line.text) for line in plan.lines_named(wanted))
