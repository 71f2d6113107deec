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
from assistant.model.documents.message import ENDS_OF_A_MESSAGE
from assistant.model.documents.next_loads import NextLoadWords
from assistant.model.documents.page import (
    LinePart,
    NotesPart,
    ReasonsPart,
)
from assistant.model.documents.page_words import AcceptingWords, Phrases
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.model.marks import placeholders
from assistant.plan.flag_reasons import client_reasons
from assistant.plan.language import FOREIGN_END, FOREIGN_START, localised, read_language

OTHERS = tuple(code for code in sorted(book().languages) if code != "en")
ONLY_FOR_COACHES = {
    "left_out", "unanswered", "referral", "flag", "all_clear", "set_aside", "cleared",
    "cleared_void", "set_aside_void", "flag_cleared", "flag_set_aside",
}  # fmt: skip


def _of_the_screen(kb: KnowledgeBase) -> Iterator[str]:
    for shelf in ("roles", "urgencies", "trainings"):
        yield from (words.client for words in getattr(kb.screen_words, shelf).values())
    yield from (text for flag in kb.flags.values() for text in (flag.client, flag.area))
    yield from (limit.say for limit in kb.limits.limits)
    for flag in kb.flags:
        yield from client_reasons(kb, flag)
    for flag in kb.flags.values():
        yield from (step.client for step in flag.first_steps if step.client)


def _in_a_message(kb: KnowledgeBase) -> Iterator[str]:
    words = kb.message
    yield from words.away.values()
    yield from (getattr(words, name) for name in ENDS_OF_A_MESSAGE)
    for step in (words.stopped, words.undecided, *words.urgent.values(), *words.decisions.values()):
        yield from (step.say, step.next)
    yield from (line.say for line in words.lines)


def _said_to_clients(kb: KnowledgeBase) -> Iterator[str]:
    """Yield every template that a client's page can hold, from the rules as they are."""
    decided: list[str] = []
    for section in kb.plan.sections:
        yield section.client_title
        for part in section.parts:
            if isinstance(part, NotesPart) and part.only_for != "coach":
                decided.append(part.notes)
            if isinstance(part, ReasonsPart):
                decided.append(part.reasons)
            if isinstance(part, LinePart) and part.only_for != "coach":
                decided.append(part.about[0].partition("[")[0])
                yield part.client or part.coach
    yield from (kb.plan.phrases[n] for n in Phrases.model_fields if n not in ONLY_FOR_COACHES)
    assert kb.plan.next_loads is not None
    yield from (kb.plan.next_loads[way] for way in NextLoadWords.model_fields)
    assert kb.plan.accepting is not None
    yield from (kb.plan.accepting[name].client for name in AcceptingWords.model_fields)
    yield from _in_a_message(kb)
    assert kb.plan.by_hand is not None
    yield kb.plan.by_hand.set.client
    yield from kb.figures.words.templates()
    yield from _of_the_screen(kb)
    # The reason under a line is the sentence of a rule that can decide its first fact.
    for rule in kb.rules.values():
        if any(item.fact.startswith(name) for item in rule.then for name in decided):
            yield rule.client_because or rule.because


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
        f"everything that loads the {joint.replace('_', ' ')} is left out until it is settled"
        for joint in kb.exercises.joints
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
