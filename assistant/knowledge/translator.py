"""Texts of the rule book said in another language; what has no translation stays English and marked."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from assistant.model.language import Language

# Private-use characters around a text that is not in the reader's language.
FOREIGN_START, FOREIGN_END = "\ue000", "\ue001"
ENGLISH = "en"


@dataclass(frozen=True)
class Translator:
    """Says templates of the rule book in a language; English needs no marks."""

    language: Language

    def text(self, english: str) -> str:
        """Return a template in the language, or the English one between marks."""
        if self.language.language == ENGLISH or not english.strip():
            return english
        said = self._said.get(" ".join(english.split()))
        return marked(english) if said is None else said

    def maybe(self, english: str | None) -> str | None:
        """Return the same of a text that may be missing."""
        return None if english is None else self.text(english)

    def word(self, words: Mapping[str, str], word_id: str, english: str) -> str:
        """Return the word for an id from one of the language's lists, or the English one marked."""
        if self.language.language == ENGLISH:
            return english
        return words.get(word_id) or marked(english)

    @cached_property
    def _said(self) -> Mapping[str, str]:
        return {" ".join(en.split()): say for en, say in self.language.said().items()}


def marked(english: str) -> str:
    """Return an English text between the marks for a foreign one."""
    return f"{FOREIGN_START}{english}{FOREIGN_END}"
