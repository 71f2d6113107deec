"""The messages of one language: the page's own words, and what the rules say in other words."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import Names, Plain, Slots, Text, placeholders


class Translation(Document):
    """One template of the rule book and the same in this language.

    `en` is the template as it stands in the rules, so a changed original falls back to English
    instead of keeping an old translation.
    """

    en: Text
    say: Text


class Grammar(Document):
    """How values are joined. `ones` turns the plural after a single 1 into the singular."""

    decimal_mark: str = "."
    range: Annotated[Text, Slots(("low", "high"))] = "{low} to {high}"
    last_of_list: Annotated[Text, Slots(("first", "last"))] = "{first} and {last}"
    empty_list: str = "nothing"
    true_word: str = "yes"
    false_word: str = "no"
    not_known: str = "not known"
    ones: dict[str, str] = {}


class Language(RuleFile):
    """All messages of a language.

    furniture: titles and labels of the page, by key. labels, units, exercises: by id.
    texts: templates of the rule book, and the dialogue's own sentences. typed: what people type in this
    language, and the English word that the dialogue reads for it.
    """

    language: Annotated[str, Field(pattern=r"^[a-z]{2}$")]
    name: str
    furniture: dict[str, Text]
    labels: dict[Annotated[str, Names("label")], Plain] = {}
    units: dict[Annotated[str, Names("unit")], Plain] = {}
    exercises: dict[Annotated[str, Names("exercise")], Plain] = {}
    grammar: Grammar = Grammar()
    texts: tuple[Translation, ...] = ()
    typed: dict[Text, Plain] = {}

    def faults(self) -> Iterator[Fault]:
        """Yield templates that are translated twice, or that name what the original does not."""
        seen: set[str] = set()
        for number, text in enumerate(self.texts):
            plain = " ".join(text.en.split())
            if plain in seen:
                yield Fault(("texts", number, "en"), "repeated-id", f"translated twice: {text.en}")
            seen.add(plain)
            yield from differences(("texts", number, "say"), text.say, text.en)

    def said(self) -> dict[str, str]:
        """Return translations by English template."""
        return {text.en: text.say for text in self.texts}


def differences(path: tuple[str | int, ...], said: str, original: str) -> Iterator[Fault]:
    """Yield placeholders that a translation has and its original has not, or the other way round."""
    ours, theirs = set(placeholders(said)), set(placeholders(original))
    for name in sorted(ours - theirs):
        hint = f"; it has {', '.join(f'{{{each}}}' for each in sorted(theirs)) or 'none'}"
        text = f"names {{{name}}}, which the original does not{hint}"
        yield Fault(path, "bad-placeholder", text)
    for name in sorted(theirs - ours):
        yield Fault(path, "bad-placeholder", f"lacks {{{name}}}, which the original has")
