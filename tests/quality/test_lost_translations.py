"""A slip in the original beside a translation is told at its line, with the sentence that was meant."""

import dataclasses
from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import rules_directory
from assistant.knowledge.draft import Draft
from assistant.knowledge.drafting import read_draft
from assistant.quality.lint.translated import lost_translations
from assistant.quality.spoken import spoken_to_clients


@pytest.fixture(scope="module")
def kb() -> Draft:
    draft, problems = read_draft(calculators=CALCULATORS)
    assert draft is not None
    assert not problems
    return draft


def _with_a_slip(kb: Draft, number: int) -> Draft:
    """The book with one letter lost in the middle of an original."""
    german = kb.languages["de"]
    texts = list(german.texts)
    en = texts[number].en
    texts[number] = texts[number].model_copy(
        update={"en": en[: len(en) // 2] + en[len(en) // 2 + 1 :]}
    )
    language = german.model_copy(update={"texts": tuple(texts)})
    return dataclasses.replace(kb, languages={**kb.languages, "de": language})


def test_the_shipped_translations_are_all_said(kb: Draft) -> None:
    assert list(lost_translations(kb)) == []


def test_a_lost_letter_is_told_with_its_line_and_what_was_meant(kb: Draft) -> None:
    said = {" ".join(each.text.split()) for each in spoken_to_clients(kb) if each.language == "en"}
    texts = kb.languages["de"].texts
    ours = [
        n for n, text in enumerate(texts) if " ".join(text.en.split()) in said and len(text.en) > 12
    ]
    assert len(ours) > 1000
    lines = (rules_directory() / "languages" / "de.yaml").read_text("utf-8").splitlines()
    for number in ours[:: len(ours) // 25]:
        (problem,) = lost_translations(_with_a_slip(kb, number))
        assert " ".join(texts[number].en.split()) in problem.text
        file, _, line = problem.place.rpartition(":")
        assert Path(file).name == "de.yaml"
        assert "en" in lines[int(line) - 1], problem
