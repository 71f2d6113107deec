"""The client's page in another language: nothing lost, numbers the same, what is English says so.

The translations themselves are ours and were read by no second person. Outside source: the rules of
plain German number and date writing (DIN 5008: decimal comma), from memory.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from intake.own_sentences import own_sentences
from intake.self_voice import said_to_one_alone
from page_cases import FEW, NAMES, book, page, plan_and_page, readable

import assistant
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.model.marks import placeholders
from assistant.plan.language import FOREIGN_END, FOREIGN_START, localised, read_language
from assistant.quality.spoken import spoken_to_clients

OTHERS = tuple(code for code in sorted(book().languages) if code != "en")


def _said_to_clients(kb: KnowledgeBase) -> Iterator[str]:
    """Yield every template that a client can be shown and `texts` of a language translates."""
    for each in spoken_to_clients(kb):
        has_a_shelf = each.kind == "how_to" or each.item in {"wording", "calendar"}
        if each.language == "en" and each.kind != "language" and not has_a_shelf:
            yield each.text


def _untranslated(language: Language) -> list[str]:
    said = {" ".join(en.split()) for en in language.said()}
    wanted = {" ".join(text.split()) for text in _said_to_clients(book())}
    return sorted(wanted - said)


@pytest.mark.parametrize("code", OTHERS)
def test_the_page_s_own_words_are_all_there(code: str) -> None:
    language, english = read_language(book(), code), read_language(book(), "en")
    assert language.furniture.keys() == english.furniture.keys()
    for key, template in english.furniture.items():
        assert set(placeholders(language.furniture[key])) == set(placeholders(template)), key
    assert language.exercises.keys() == book().exercises.by_id.keys()
    assert language.units.keys() == book().wording.units.keys()
    domains = book().book.domains
    assert {*domains["muscle"], *domains["weekday"]} <= language.labels.keys()


def test_every_word_of_the_page_is_used() -> None:
    house = Path(assistant.__file__).parent
    rooms = (house / "report", house / "web")
    files = (path for room in rooms for kind in ("*.py", "*.html") for path in room.rglob(kind))
    code = "".join(path.read_text("utf-8") for path in files)
    for key in read_language(book(), "en").furniture:
        family = re.match(r"(month|day_short|away)_", key)
        asked = f"{family[0]}{{" if family else f'"{key}"'
        assert asked in code, key


@pytest.mark.parametrize("code", OTHERS)
def test_templates_without_a_translation(code: str) -> None:
    """Lists what still appears in English, marked so; a new rule may be there before its translation."""
    missing = _untranslated(read_language(book(), code))
    print(f"{code}: {len(missing)} templates not translated", *missing, sep="\n  ")
    everything = {" ".join(text.split()) for text in _said_to_clients(book())}
    assert len(missing) <= len(everything) / 5


@pytest.mark.parametrize("code", OTHERS)
def test_every_translation_has_an_original_and_keeps_its_numbers(code: str) -> None:
    """A sentence changed in the rules leaves its translation without an original: mend it here."""
    kb = book()
    texts = {" ".join(text.split()) for text in _said_to_clients(kb)}
    texts |= {fact.label for fact in kb.facts.values()}
    texts |= {" ".join(text.split()) for _, text in (*said_to_one_alone(kb), *own_sentences(kb))}
    texts |= {" ".join(r.client_because.split()) for r in kb.rules.values() if r.client_because}
    texts |= {limit.say for limit in kb.limits.limits}
    texts |= {
        f"{what.format(joint.replace('_', ' '))} is left out until it is settled"
        for what in ("everything that loads the {}", "what strains the {} most")
        for joint in kb.book.domains["joint"]
    }
    for text in read_language(kb, code).texts:
        assert " ".join(text.en.split()) in texts, text.en
        assert set(placeholders(text.say)) == set(placeholders(text.en)), text.say
        # Numbers that stand in the sentence itself are the same in both.
        assert re.findall(r"\d+", text.say) == re.findall(r"\d+", text.en), text.say


@pytest.mark.parametrize("name", FEW)
def test_both_pages_hold_the_same_numbers(name: str) -> None:
    english, german = readable(page(name)), readable(page(name, "client", "de"))
    assert '<html lang="de">' in page(name, "client", "de")

    def numbers(text: str) -> list[str]:
        return sorted(re.findall(r"\d+(?:[.,]\d+)?", text.replace(",", ".")))

    assert numbers(german) == numbers(english)


def test_german_writes_commas_and_days_its_own_way() -> None:
    german = readable(page("four_days", "client", "de"))
    assert "Dienstag, 13. Januar" in german
    assert re.search(r"\d,(5|25|75)\b", german)
    # Versions of the book and the engine keep their points.
    german = re.sub(r"\d+\.\d+\.\d+", "", german)
    assert not re.search(r"\d\.\d\d?\b(?!\.)", german)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_a_page_with_english_left_in_it_says_so(name: str) -> None:
    html = page(name, "client", "de")
    note = read_language(book(), "de").furniture["language_note"]
    assert ("span lang" in html) == (note in html)


def test_what_is_not_translated_is_english_and_marked() -> None:
    german = read_language(book(), "de")
    poorer = dataclasses_less(german, "Drink to thirst")
    html = plan_and_page("refer_first", "client", poorer)[1]
    marked = re.findall(r'<span lang="en">(.*?)</span>', html)
    assert {text.partition(".")[0] for text in marked} == {
        "Drink to thirst through the day and with sessions"
    }
    assert german.furniture["language_note"] in html
    assert german.furniture["language_note"] not in page("refer_first", "client", "de")
    assert FOREIGN_START not in html
    assert FOREIGN_END not in html


def dataclasses_less(language: Language, beginning: str) -> Language:
    """Return the language without the translations of originals that begin so."""
    kept = tuple(text for text in language.texts if not text.en.startswith(beginning))
    assert len(kept) < len(language.texts)
    return language.model_copy(update={"texts": kept})


def test_a_language_that_is_not_there_is_one_clear_line() -> None:
    with pytest.raises(InputProblems, match="no messages in `fr`; languages: de, en"):
        read_language(book(), "fr")


def test_a_language_changes_words_and_no_rule() -> None:
    kb = book()
    german = localised(kb, read_language(kb, "de"))
    assert german.logic_hash == kb.logic_hash
    for name, rule in kb.rules.items():
        assert german.rules[name].model_copy(update={"title": rule.title}) == rule
    for name, fact in kb.facts.items():
        assert german.facts[name].reveals == fact.reveals
