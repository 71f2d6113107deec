"""What to do tomorrow morning: train, eat, sleep, and whom to see. All from lines of the plan."""

import datetime as dt
from dataclasses import dataclass

from markupsafe import Markup

from assistant.model.plan import Line, Plan
from assistant.model.programme import Programme, Session
from assistant.plan.visibility import withheld_outputs
from assistant.programme.catalogue import Catalogue
from assistant.report.page.sessions import load_notes, next_session
from assistant.report.page.words import PageWords

_FIGURES = ("food.target", "food.protein", "food.protein_meal", "food.carbohydrate", "food.fat")
_PLAIN = ("advice.plain_meals", "advice.fluid")
_SLEEP = ("recovery.sleep", "advice.sleep*")


@dataclass(frozen=True)
class Card:
    """One answer to "what do I do tomorrow": train, eat, sleep, or whom to see.

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
    lines = {line.id: line for section in plan.sections for line in section.lines}
    today = dt.date.fromisoformat(plan.as_of)
    withheld = withheld_outputs(plan.run)
    cards = [_train(lines, plan.programme, catalogue, today, words), _eat(lines, words)]
    sleep = _texts(lines, words, _SLEEP)
    if sleep:
        cards.append(Card("sleep", words.told("card_sleep"), sleep))
    cards.append(_see(lines, words, waits="exercise_any" in withheld))
    return tuple(cards)


def _train(
    lines: dict[str, Line],
    programme: Programme | None,
    catalogue: Catalogue,
    today: dt.date,
    words: PageWords,
) -> Card:
    title = words.told("card_train")
    meanwhile = _texts(lines, words, ("screen.training*",))
    found = next_session(programme, today) if programme is not None else None
    if programme is None or found is None:
        missing = _texts(lines, words, ("gap.week.structure", "gap.training*"))
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


def _eat(lines: dict[str, Line], words: PageWords) -> Card:
    figures = _texts(lines, words, _FIGURES)
    plain = _texts(lines, words, _PLAIN)
    said = (*figures, *plain) if figures else (words.told("no_food_figures"), *plain)
    return Card("eat", words.told("card_eat"), said)


def _see(lines: dict[str, Line], words: PageWords, *, waits: bool) -> Card:
    """waits: training waits, so nobody reads that there is nobody to see before the start."""
    people = _texts(lines, words, ("screen.referral*",))
    review = _texts(lines, words, ("review.date", "screen.ask_again"))
    nobody = () if waits else (words.told("nobody_to_see"),)
    return Card("see", words.told("card_see"), (*(people or nobody), *review))


def _texts(lines: dict[str, Line], words: PageWords, wanted: tuple[str, ...]) -> tuple[Markup, ...]:
    """Return the texts of lines by id, `*` at the end for any rest, in the order asked for."""
    return tuple(
        words.html(line.text)
        for pattern in wanted
        for line_id, line in lines.items()
        if line_id == pattern
        or (pattern.endswith("*") and line_id.startswith(pattern.removesuffix("*")))
    )
