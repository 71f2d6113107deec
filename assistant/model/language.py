"""The messages of one language: the page's own words, and what the rules say in other words."""

from typing import Annotated

from pydantic import Field

from assistant.model.base import Document


class Translation(Document):
    """One template of the rule book and the same in this language.

    `en` is the template as it stands in the rules, so a changed original falls back to English
    instead of keeping an old translation.
    """

    en: str
    say: str


class Grammar(Document):
    """How values are joined. `ones` turns the plural after a single 1 into the singular."""

    decimal_mark: str = "."
    range: str = "{low} to {high}"
    last_of_list: str = "{first} and {last}"
    empty_list: str = "nothing"
    true_word: str = "yes"
    false_word: str = "no"
    not_known: str = "not known"
    ones: dict[str, str] = {}


class Language(Document):
    """All messages of a language.

    furniture: titles and labels of the page, by key. labels, units, exercises: by id.
    texts: templates of the rule book.
    """

    language: Annotated[str, Field(pattern=r"^[a-z]{2}$")]
    name: str
    furniture: dict[str, str]
    labels: dict[str, str] = {}
    units: dict[str, str] = {}
    exercises: dict[str, str] = {}
    grammar: Grammar = Grammar()
    texts: tuple[Translation, ...] = ()

    def said(self) -> dict[str, str]:
        """Return translations by English template."""
        return {text.en: text.say for text in self.texts}
