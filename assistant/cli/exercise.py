"""`whyplan exercise NAME`: how an exercise is done, for a client or for the coach; `--deck` for a whole week."""

import argparse
import dataclasses
from collections.abc import Sequence

from assistant.cli.common import steps_aside
from assistant.cli.files import keep_inputs, write_output
from assistant.cli.person import case_file, person_of
from assistant.clients.book import knowledge
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.plan.how_to import HowToCard, how_to
from assistant.plan.language import ENGLISH, localised, read_language
from assistant.plan.phrases import Phrasebook
from assistant.programme.naming import exercises_named, no_exercise
from assistant.report.page.card import card_text
from assistant.report.page.whole import cards_html
from assistant.report.page.words import PageWords


def run(args: argparse.Namespace) -> int:
    """Print the card, or the deck; 1 where there is no week for one.

    Raises InputProblems where no exercise is meant, or several are.
    """
    if bool(args.name) == (args.deck is not None):
        text = "say one exercise, or --deck with a client or a case file"
        raise InputProblems([Problem("NAME", "missing-field", text)])
    kb = knowledge(args.rules, args.house)
    language = read_language(kb, args.language)
    if args.deck is None:
        cards = [_card(_meant(" ".join(args.name), kb, language), kb, language)]
    else:
        cards = _deck(args, kb, language)
    if not cards:
        return 1
    _write(args, cards, kb, language)
    return 0


def _write(
    args: argparse.Namespace, cards: Sequence[HowToCard], kb: KnowledgeBase, language: Language
) -> None:
    english = read_language(kb, ENGLISH)
    words = PageWords(language, english, Phrasebook(localised(kb, language), args.imperial))
    coach = not args.client
    if args.format == "html":
        made = cards_html(cards, words, coach=coach)
    else:
        made = "\n\n".join(card_text(card, words, coach=coach) for card in cards)
    write_output(args.out, made.encode())


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


def _deck(args: argparse.Namespace, kb: KnowledgeBase, language: Language) -> list[HowToCard]:
    """Cards for the week of a person, in its order; empty, and said, where there is no week."""
    keep_inputs(args.out, *filter(None, (case_file(args.deck),)))
    person = person_of(args, args.deck)
    if steps_aside(person.case, kb, voice="client" if args.client else "coach"):
        return []
    now = person.week(person.run())
    lines = [] if now is None else [x for s in now.programme.sessions for x in s.lines]
    if not lines:
        print("No deck: there are no sessions; `whyplan plan` says why.")
    cards = (_card(name, kb, language) for name in dict.fromkeys(x.exercise for x in lines))
    # What is easier or harder may be left out for this person; the week names what may take its place.
    return [dataclasses.replace(c, easier=(), harder=(), without_kit=()) for c in cards]
