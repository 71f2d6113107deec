"""What a client reads is plain: no word of the trade unexplained, no sentence too long to read in one go."""

import re
from collections.abc import Iterable, Iterator
from statistics import median

from assistant.model.errors import Problem
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.marks import PLACEHOLDER, placeholder_fact
from assistant.quality.spoken import Spoken, spoken_to_clients

_IN_BRACKETS = re.compile(r"\([^()]*\)")
_END = re.compile(r"(?<=[.!?])[\"”»)]*\s+")
_WORD = re.compile(r"\w")
# Words that usually stand in a place to fill: a range, and a place without a fact; names in a list.
_IN_RANGE, _IN_PLACE, _IN_LIST = 3, 2, 2


def plain_words(kb: KnowledgeBase) -> Iterator[Problem]:
    """Yield every text for a client with a word of the trade outside brackets, or with words no client reads."""
    check = kb.check
    for said in spoken_to_clients(kb) if check.trade_words or check.never_said else ():
        bare = PLACEHOLDER.sub("", _IN_BRACKETS.sub("", said.text))
        behind = "or put the trade's word in brackets behind it"
        tried = [
            *((bare, "trade-word", each, f"say `{each.plain}`, {behind}")
              for each in check.trade_words.get(said.language, ())),
            *((said.text, "never-said", each, each.plain)
              for each in check.never_said.get(said.language, ()) if each.only in {"", said.kind}),
        ]  # fmt: skip
        for text, code, word, instead in tried:
            found = re.search(word.pattern, text, re.IGNORECASE)
            if found is not None:
                yield _problem(kb, said, code, f"says `{found[0]}` to a client; {instead}")


def short_sentences(kb: KnowledgeBase) -> Iterator[Problem]:
    """Yield every sentence for a client that is longer than the book allows, as it is usually filled."""
    most = kb.check.most_words
    for said in spoken_to_clients(kb) if most else ():
        for sentence in sentences(said.text):
            count = words_in(sentence, kb)
            if count > most:
                text = (
                    f"a client reads {count} words in one sentence, more than {most}: `{sentence}`; "
                    "make two sentences of it"
                )
                yield _problem(kb, said, "long-sentence", text)


def sentences(text: str) -> list[str]:
    """Return the sentences of a text; a colon or semicolon ends none."""
    return [each for each in _END.split(" ".join(text.split())) if each]


def words_in(sentence: str, kb: KnowledgeBase) -> int:
    """Return how many words a sentence has once its places are filled as they usually are."""
    filled = PLACEHOLDER.sub(lambda place: " ".join(["w"] * _usual_words(place[1], kb)), sentence)
    return sum(bool(_WORD.search(word)) for word in filled.split())


def _usual_words(place: str, kb: KnowledgeBase) -> int:
    fact_id = placeholder_fact(place)
    fact = kb.facts.get(fact_id) if fact_id else None
    if place.endswith(":range"):
        return _IN_RANGE
    if place.endswith(":unit") and fact is not None:
        return len(kb.wording.units.get(fact.unit, "").split())
    if place.startswith("param:"):
        return 1
    if fact is None:
        return _IN_PLACE
    if fact.type is FactType.CHOICES:
        return _IN_LIST * _label_words(kb, kb.book.choices_of(fact)) + 1
    return _label_words(kb, kb.book.choices_of(fact))


def _label_words(kb: KnowledgeBase, choices: Iterable[str]) -> int:
    said = (kb.wording.labels.get(name, name.replace("_", " ")) for name in choices)
    return round(median([len(label.split()) for label in said] or [1]))


def _problem(kb: KnowledgeBase, said: Spoken, code: str, text: str) -> Problem:
    return Problem(kb.place(said.kind, said.item, *said.path), code, text)
