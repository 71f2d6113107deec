"""What a language translates is said somewhere: a slip in an original would leave its sentence in English."""

from collections.abc import Iterator
from difflib import get_close_matches

from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.quality.spoken import ENGLISH, spoken_to_clients

_NEAR = 0.9


def lost_translations(kb: KnowledgeBase) -> Iterator[Problem]:
    """Yield every translation whose original nobody says, while one much like it has no translation.

    The dialogue's own sentences stand in its code, so an original that is like none of the book's is left alone.
    """
    originals = {
        " ".join(each.text.split()) for each in spoken_to_clients(kb) if each.language == ENGLISH
    }
    for code, language in kb.languages.items():
        if code != ENGLISH:
            yield from _lost(kb, code, language, originals)


def _lost(
    kb: KnowledgeBase, code: str, language: Language, originals: set[str]
) -> Iterator[Problem]:
    translated = {" ".join(text.en.split()) for text in language.texts}
    waiting = sorted(originals - translated)
    for number, text in enumerate(language.texts):
        plain = " ".join(text.en.split())
        if plain in originals:
            continue
        for meant in get_close_matches(plain, waiting, 1, _NEAR):
            said = f"`{plain}` is no sentence of the book; did you mean `{meant}`?"
            yield Problem(
                kb.place("language", code, "texts", number, "en"), "lost-translation", said
            )
