"""Each way a next load comes about has a sentence in every language and unit, with no slot left open.

Pounds: one is 0.45359237 kg (international pound of 1959).
"""

import pytest

from assistant.model.documents.next_loads import NextLoadWords
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import NextLoad
from assistant.plan.language import FOREIGN_START, localised, read_language
from assistant.plan.loads import load_words, next_words
from assistant.plan.phrases import Phrasebook

WAYS = [name for name in NextLoadWords.model_fields if name != "every_set"]


def _said(kb: KnowledgeBase, way: str, language: str, *, imperial: bool = False) -> str:
    words = read_language(kb, language)
    step = NextLoad(way, 60.0, 8, 12, 2, 57.5, 2.5, 1, 5, "push_up")
    phrases = Phrasebook(localised(kb, words), imperial)
    return next_words(step, phrases, words.exercises.get)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("language", ["en", "de"])
def test_every_way_is_one_short_whole_sentence(way: str, language: str, kb: KnowledgeBase) -> None:
    said = _said(kb, way, language)
    assert "{" not in said
    assert FOREIGN_START not in said
    assert len(said.split()) <= 20
    assert said.endswith((".", "?"))


def test_one_set_is_one_set(kb: KnowledgeBase) -> None:
    assert "1 set ended under 8" in _said(kb, "down", "en")
    assert "1 Satz endete unter 8" in _said(kb, "down", "de")
    assert "57,5 kg" in _said(kb, "up_if", "de")


def test_loads_in_pounds_are_whole(kb: KnowledgeBase) -> None:
    pounds = Phrasebook(kb, imperial=True)
    assert load_words(60.0, pounds) == "132 lb"  # 60 / 0.45359237 = 132.28
    assert load_words(None, pounds) == ""
    assert "132 lb" in _said(kb, "keep", "en", imperial=True)
    assert "kg" not in _said(kb, "up_if", "en", imperial=True)
