"""The knowledge base in another language, for what a client reads.

Sentences are put together from templates of the rule book, so the templates are translated and the
numbers stay where they are. What has no translation stays English and carries marks, which the page
turns into `lang="en"`; nothing is ever left out for want of a translation.
"""

import dataclasses
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from pydantic import ValidationError

from assistant.model.derivation import Derivation, Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.plan.phrases import placeholders

# Private-use characters around a text that is not in the reader's language.
FOREIGN_START, FOREIGN_END = "\ue000", "\ue001"
ENGLISH = "en"


def read_language(kb: KnowledgeBase, code: str) -> Language:
    """Return the messages of a language.

    Raises InputProblems if there is no such language or its file is wrong: a missing field, a
    template translated twice, or a translation that names other facts than the original.
    """
    shelf: Mapping[str, Any] = kb.documents.get("languages", {})
    if code not in shelf:
        known = ", ".join(sorted(shelf)) or "none"
        text = f"there are no messages in `{code}`; languages: {known}"
        raise InputProblems([Problem("--language", "unknown-language", text)])
    place = f"rules/languages/{code}.yaml"
    raw = {**shelf[code], "texts": tuple(shelf[code].get("texts", ()))}
    try:
        language = Language.model_validate(raw)
    except ValidationError as error:
        raise InputProblems(
            [
                Problem(place, "bad-message", f"{'.'.join(map(str, e['loc']))}: {e['msg']}")
                for e in error.errors()
            ]
        ) from None
    problems = [Problem(place, "bad-message", text) for text in _faults(language)]
    if problems:
        raise InputProblems(problems)
    return language


def _faults(language: Language) -> list[str]:
    originals = [text.en for text in language.texts]
    faults = [f"translated twice: {text}" for text in sorted({t for t in originals if originals.count(t) > 1})]  # fmt: skip
    for text in language.texts:
        extra = set(placeholders(text.say)) - set(placeholders(text.en))
        if extra:
            faults.append(f"names {{{min(extra)}}}, which the original does not: {text.say}")
    return faults


@dataclasses.dataclass(frozen=True)
class Translator:
    """Says templates of the rule book in a language; English needs no marks."""

    language: Language

    def text(self, english: str) -> str:
        """Return a template in the language, or the English one between marks."""
        if self.language.language == ENGLISH or not english.strip():
            return english
        said = self._said.get(" ".join(english.split()))
        return marked(english) if said is None else said

    def word(self, words: Mapping[str, str], word_id: str, english: str) -> str:
        """Return the word for an id from one of the language's lists, or the English one marked."""
        if self.language.language == ENGLISH:
            return english
        return words[word_id] if word_id in words else marked(english)

    @cached_property
    def _said(self) -> Mapping[str, str]:
        return {" ".join(en.split()): say for en, say in self.language.said().items()}


def marked(english: str) -> str:
    """Return an English text between the marks for a foreign one."""
    return f"{FOREIGN_START}{english}{FOREIGN_END}"


def localised(kb: KnowledgeBase, language: Language) -> KnowledgeBase:
    """Return the knowledge base with everything a client reads said in the language."""
    if language.language == ENGLISH:
        return kb
    tell = Translator(language)
    documents = dict(kb.documents)
    documents["plan"] = _plan_page(documents["plan"], tell)
    documents["wording"] = _wording(kb, tell)
    documents["flags"] = _flags(documents["flags"], tell)
    return dataclasses.replace(
        kb,
        documents=documents,
        facts={name: _fact(fact, tell) for name, fact in kb.facts.items()},
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

    by_id = {record.id: record_said(record) for record in run.records if record.id}
    records = tuple(by_id.get(record.id) or record_said(record) for record in run.records)
    return dataclasses.replace(run, records=records, _by_id=by_id)


def _fact(fact: Any, tell: Translator) -> Any:
    said: dict[str, Any] = {"label": tell.text(fact.label)}
    if fact.default is not None:
        because = tell.text(fact.default.because)
        said["default"] = fact.default.model_copy(update={"because": because})
    return fact.model_copy(update=said)


def _plan_page(page: Mapping[str, Any], tell: Translator) -> dict[str, Any]:
    sections = []
    for section in page["sections"]:
        parts = []
        for part in section["parts"]:
            said = dict(part)
            if "line" in part:
                said["client"] = tell.text(part.get("client") or part["coach"])
            parts.append(said)
        title, note = tell.text(section["client_title"]), tell.text(section.get("note", ""))
        sections.append({**section, "client_title": title, "note": note, "parts": parts})
    phrases = {name: tell.text(text) for name, text in page["phrases"].items()}
    return {**page, "sections": sections, "phrases": phrases}


def _wording(kb: KnowledgeBase, tell: Translator) -> dict[str, Any]:
    english, language = kb.documents["wording"], tell.language
    ids = {*english["labels"], *(item for items in kb.book.domains.values() for item in items)}
    for fact in kb.facts.values():
        ids.update(fact.choices)
    plain = {name: english["labels"].get(name, name.replace("_", " ")) for name in sorted(ids)}
    return {
        "labels": {name: tell.word(language.labels, name, words) for name, words in plain.items()},
        "units": {
            name: tell.word(language.units, name, words) for name, words in english["units"].items()
        },
        "grammar": language.grammar.model_dump(),
    }


def _flags(flags: Mapping[str, Any], tell: Translator) -> dict[str, Any]:
    def for_clients(words: Mapping[str, Any]) -> dict[str, Any]:
        heard = {**words, "client": tell.text(words["client"])} if "client" in words else {**words}
        if "first_steps" in words:
            heard["first_steps"] = [for_clients(step) for step in words["first_steps"]]
        return heard

    shelves = ("roles", "urgencies", "levels", "outputs", "trainings", "flags")
    return {
        **flags,
        **{
            shelf: {name: for_clients(words) for name, words in flags[shelf].items()}
            for shelf in shelves
        },
    }
