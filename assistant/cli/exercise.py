"""`whyplan exercise NAME`: how an exercise is done, for a client or for the coach."""

import argparse

from assistant.cli.files import write_output
from assistant.cli.options import OUT, RULES, form, option, switch
from assistant.clients.book import knowledge
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.plan.how_to import HowToCard, how_to
from assistant.plan.language import ENGLISH, localised, read_language
from assistant.plan.phrases import Phrasebook
from assistant.programme.naming import exercises_named, no_exercise
from assistant.report.page import cards_html
from assistant.report.page.card import card_text
from assistant.report.page.words import PageWords

OPTIONS = (
    option("name", "an id or words of its name", nargs="+", metavar="NAME"),
    option("--language", "language of the card, e.g. de", default=ENGLISH, metavar="CODE"),
    switch("--client", "leave out what is for the coach"),
    form("text", "html"),
    OUT,
    RULES,
)


def run(args: argparse.Namespace) -> int:
    """Print the card. Raises InputProblems where no exercise is meant, or several are."""
    kb = knowledge(args.rules, None)
    language = read_language(kb, args.language)
    card = _card(_meant(" ".join(args.name), kb, language), kb, language)
    phrases = Phrasebook(localised(kb, language))
    words = PageWords(language, read_language(kb, ENGLISH), phrases)
    coach = not args.client
    made = cards_html([card], words, coach=coach) if args.format == "html" else (
        card_text(card, words, coach=coach)
    )  # fmt: skip
    write_output(args.out, made.encode())
    return 0


def _meant(text: str, kb: KnowledgeBase, language: Language) -> str:
    names = {
        name: {row.name, language.exercises.get(name, row.name)}
        for name, row in kb.exercises.by_id.items()
    }
    meant, _ = exercises_named(text, names)
    if len(meant) == 1:
        return meant[0]
    told = no_exercise(text, {*names, *(each for called in names.values() for each in called)})
    if meant:
        few = ", ".join(f"`{name}`" for name in meant)
        told = f"`{text}` can mean {few}; write one of them"
    raise InputProblems([Problem("NAME", "unknown-exercise", told)])


def _card(exercise: str, kb: KnowledgeBase, language: Language) -> HowToCard:
    card = how_to(kb, exercise, language)
    if card is None:
        text = f"how `{exercise}` is done is not written; add it under rules/how_to"
        raise InputProblems([Problem("NAME", "not-written", text)])
    return card
