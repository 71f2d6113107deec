"""The knowledge base in another language, for what a client reads.

Sentences are put together from templates of the rule book, so the templates are translated and the
numbers stay where they are. What has no translation stays English and carries marks, which the page
turns into `lang="en"`; nothing is ever left out for want of a translation.
"""

import dataclasses
from typing import Any, TypeVar

from assistant.knowledge.translator import (
    ENGLISH,
    FOREIGN_END,
    FOREIGN_START,
    Translator,
    marked,
)
from assistant.model.derivation import Derivation, Run
from assistant.model.documents.checkin import CheckinDocument, CheckinQuestion
from assistant.model.documents.flags import Flag, Said
from assistant.model.documents.message import ENDS_OF_A_MESSAGE, MessageDocument, MessageStep
from assistant.model.documents.next_loads import NextLoadWords
from assistant.model.documents.page import (
    LinePart,
    Part,
    PlanLayout,
)
from assistant.model.documents.page_words import AcceptingWords, Phrases
from assistant.model.documents.screen_words import ScreenWords
from assistant.model.documents.wording import Wording
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.model.questions import Question, Section, TickList


def read_language(kb: KnowledgeBase, code: str) -> Language:
    """Return the messages of a language. Raises InputProblems if there is no such language."""
    if code not in kb.languages:
        known = ", ".join(sorted(kb.languages)) or "none"
        text = f"there are no messages in `{code}`; languages: {known}"
        raise InputProblems([Problem("--language", "unknown-language", text)])
    return kb.languages[code]


# The rooms that word a plan take the translator from here, too.
__all__ = [
    "ENGLISH",
    "FOREIGN_END",
    "FOREIGN_START",
    "Translator",
    "localised",
    "localised_run",
    "marked",
    "read_language",
]
_Words = TypeVar("_Words", bound=Said)


def localised(kb: KnowledgeBase, language: Language) -> KnowledgeBase:
    """Return the knowledge base with everything a client reads said in the language."""
    if language.language == ENGLISH:
        return kb
    tell = Translator(language)
    said = kb.with_files(
        plan=_plan_page(kb.plan, tell),
        wording=_wording(kb, tell),
        **({"message": _message(kb.message, tell)} if "message" in kb.files else {}),
        **({"checkin": _checkin(kb.checkin, tell)} if "checkin" in kb.files else {}),
        flags=_screen_words(kb.screen_words, tell),
    )
    return dataclasses.replace(
        said,
        spoken=language,
        flags={name: _flag(flag, tell) for name, flag in kb.flags.items()},
        facts={name: _fact(fact, tell) for name, fact in kb.facts.items()},
        sections=tuple(_section(section, tell) for section in kb.sections),
        questions=tuple(_question(question, tell) for question in kb.questions),
        tick_lists=tuple(_tick_list(each, tell) for each in kb.tick_lists),
        rules={
            name: rule.model_copy(update={"title": tell.text(rule.title)})
            for name, rule in kb.rules.items()
        },
    )


def localised_run(run: Run, language: Language) -> Run:
    """Return a run whose derivations give their reasons in the language."""
    if language.language == ENGLISH:
        return run
    tell = Translator(language)

    def record_said(record: Derivation) -> Derivation:
        client = record.client_because or record.because
        return dataclasses.replace(record, client_because=tell.text(client))

    return dataclasses.replace(run, records=run.records.mapped(record_said))


def _fact(fact: Any, tell: Translator) -> Any:
    said: dict[str, Any] = {"label": tell.text(fact.label)}
    if fact.default is not None:
        because = tell.text(fact.default.because)
        said["default"] = fact.default.model_copy(update={"because": because})
    return fact.model_copy(update=said)


def _section(section: Section, tell: Translator) -> Section:
    return section.model_copy(
        update={"title": tell.text(section.title), "intro_self": tell.maybe(section.intro_self)}
    )


def _question(question: Question, tell: Translator) -> Question:
    """The question in the voice of a person who answers alone; a line with a voice of its own stays the coach's."""
    return question.model_copy(
        update={
            **{name: tell.text(getattr(question, name)) for name in ("self", "why")},
            **{
                name: tell.maybe(getattr(question, name))
                for line in ("help", "closing")
                for name in (line if getattr(question, f"{line}_self") is None else f"{line}_self",)
            },
            "labels": {choice: tell.text(label) for choice, label in question.labels.items()},
            "label_self": tell.maybe(question.label_self),
        }
    )


def _tick_list(ticks: TickList, tell: Translator) -> TickList:
    items = (item.model_copy(update={"label": tell.text(item.label)}) for item in ticks.items)
    said = {name: tell.text(getattr(ticks, name)) for name in ("label", "self", "why")}
    return ticks.model_copy(update={**said, "help": tell.maybe(ticks.help), "items": tuple(items)})


def _checkin(checkin: CheckinDocument, tell: Translator) -> CheckinDocument:
    def asked(question: CheckinQuestion) -> CheckinQuestion:
        return question.model_copy(
            update={
                "self": tell.text(question.self),
                "why": tell.text(question.why),
                "help": tell.maybe(question.help),
                "labels": tuple(tell.text(label) for label in question.labels),
            }
        )

    measures = {
        name: words.model_copy(update={"label": tell.text(words.label)})
        for name, words in checkin.measures
    }
    return checkin.model_copy(
        update={
            "measures": checkin.measures.model_copy(update=measures),
            "sections": tuple(_section(section, tell) for section in checkin.sections),
            "questions": tuple(asked(question) for question in checkin.questions),
        }
    )


def _plan_page(page: PlanLayout, tell: Translator) -> PlanLayout:
    def part_said(part: Part) -> Part:
        if not isinstance(part, LinePart):
            return part
        return part.model_copy(update={"client": tell.text(part.client or part.coach)})

    sections = tuple(
        section.model_copy(
            update={
                "client_title": tell.text(section.client_title),
                "note": tell.text(section.note),
                "parts": tuple(part_said(part) for part in section.parts),
            }
        )
        for section in page.sections
    )
    phrases = {name: tell.text(page.phrases[name]) for name in Phrases.model_fields}
    loads = page.next_loads and page.next_loads.model_copy(
        update={name: tell.text(page.next_loads[name]) for name in NextLoadWords.model_fields}
    )
    accepting = page.accepting and page.accepting.model_copy(
        update={
            name: _for_clients(page.accepting[name], tell) for name in AcceptingWords.model_fields
        }
    )
    by_hand = page.by_hand and page.by_hand.model_copy(
        update={"set": _for_clients(page.by_hand.set, tell)}
    )
    house = page.house and page.house.model_copy(
        update={name: _for_clients(getattr(page.house, name), tell) for name in ("title", "rule")}
    )
    return page.model_copy(
        update={
            "by_hand": by_hand,
            "house": house,
            "sections": sections,
            "phrases": Phrases(**phrases),
            "next_loads": loads,
            "accepting": accepting,
        }
    )


def _message(message: MessageDocument, tell: Translator) -> MessageDocument:
    def step(each: MessageStep) -> MessageStep:
        return MessageStep(say=tell.text(each.say), next=tell.text(each.next))

    lines = (each.model_copy(update={"say": tell.text(each.say)}) for each in message.lines)
    return message.model_copy(
        update={
            **{name: tell.text(getattr(message, name)) for name in ENDS_OF_A_MESSAGE},
            "urgent": {name: step(each) for name, each in message.urgent.items()},
            "stopped": step(message.stopped),
            "away": {kind: tell.text(text) for kind, text in message.away.items()},
            "undecided": step(message.undecided),
            "decisions": {name: step(each) for name, each in message.decisions.items()},
            "lines": tuple(lines),
        }
    )


def _wording(kb: KnowledgeBase, tell: Translator) -> Wording:
    english, language = kb.wording, tell.language
    ids = {*english.labels, *(item for items in kb.book.domains.values() for item in items)}
    for fact in kb.facts.values():
        ids.update(fact.choices)
    plain = {name: english.labels.get(name, name.replace("_", " ")) for name in sorted(ids)}
    return Wording(
        labels={name: tell.word(language.labels, name, words) for name, words in plain.items()},
        units={
            name: tell.word(language.units, name, words) for name, words in english.units.items()
        },
        grammar=language.grammar,
    )


def _for_clients(words: _Words, tell: Translator) -> _Words:
    return words.model_copy(update={"client": tell.text(words.client)})


def _flag(flag: Flag, tell: Translator) -> Flag:
    steps = tuple(step.said(tell.text) for step in flag.first_steps)
    update = {"area": tell.text(flag.area), "first_steps": steps, "self": tell.maybe(flag.self)}
    return _for_clients(flag, tell).model_copy(update=update)


def _screen_words(words: ScreenWords, tell: Translator) -> ScreenWords:
    """The words that all flags share, said to the client in the language."""
    return words.model_copy(
        update={
            shelf: {name: _for_clients(said, tell) for name, said in getattr(words, shelf).items()}
            for shelf in ("roles", "urgencies", "levels", "outputs", "trainings")
        }
    )
