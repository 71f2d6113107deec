"""The message to a client after a review, in their language, as plain text to send or to change."""

from dataclasses import replace

from assistant.model.away import AwayKind
from assistant.plan import Planner
from assistant.plan.agreeing import Accepting
from assistant.plan.language import ENGLISH, localised, localised_run, read_language
from assistant.plan.message import client_message
from assistant.report.page.words import PageWords


def message_text(
    planner: Planner,
    name: str,
    done: Accepting,
    away: AwayKind | None,
    language: str = ENGLISH,
    *,
    imperial: bool = False,
) -> tuple[str, ...]:
    """Return the message, a paragraph each, days in words. away: what the day is spent on.

    Raises InputProblems for a language that is not there.
    """
    english, own = read_language(planner.kb, ENGLISH), read_language(planner.kb, language)
    speaker = replace(planner, kb=localised(planner.kb, own))
    run = localised_run(done.before, own)
    narrator = speaker.narrator(run, "client", imperial=imperial).beside(done.after)
    words = PageWords(own, english, narrator.phrases)
    return tuple(words.plain(text) for text in client_message(name, narrator, away))
