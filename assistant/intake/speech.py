"""What a dialogue says by itself, and what is typed to it, in the language of its form.

The English sentence stands where it is said; the language's file has the same sentence in its own words.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from assistant.knowledge.translator import Translator
from assistant.model.language import Language


@dataclass(frozen=True)
class Sentence:
    """A sentence with placeholders, said when it is known to whom.

    values: text as it stands, a number, or a sentence that stands inside this one.
    """

    template: str
    values: Mapping[str, "str | float | Sentence"] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the sentence in English."""
        return Speech().said(self)


@dataclass(frozen=True)
class Speech:
    """One language of a dialogue; None is English."""

    language: Language | None = None

    def say(self, template: str, **values: str | float | Sentence) -> str:
        """Return a sentence in the language, filled."""
        return self.said(Sentence(template, values))

    def said(self, sentence: Sentence) -> str:
        """Return a sentence in the language, filled. Without values its braces are nothing to fill."""
        template = sentence.template if self._tell is None else self._tell.text(sentence.template)
        filled = {name: self._value(value) for name, value in sentence.values.items()}
        return template.format(**filled) if filled else template

    def number(self, written: str) -> str:
        """Return a number, written with a point, as the language writes it.

        Three decimals keep the point: after a comma they would read as thousands.
        """
        whole, point, decimals = written.partition(".")
        if self.language is None or len(decimals.partition(" ")[0]) == _AS_THOUSANDS:
            return written
        return f"{whole}{self.language.grammar.decimal_mark}{decimals}" if point else written

    def meant(self, typed: str) -> str:
        """Return the English word that is read for a tidied one; any other text as it is."""
        return typed if self.language is None else self.language.typed.get(typed, typed)

    def name(self, word_id: str) -> str:
        """Return what a site, a joint or a role is called."""
        labels = {} if self.language is None else self.language.labels
        known = (labels.get(f"{family}{word_id}") for family in _FAMILIES)
        return next(filter(None, known), word_id.replace("_", " "))

    def exercise(self, exercise_id: str) -> str:
        """Return what an exercise is called; in English its id, which is read as well as its name."""
        names = {} if self.language is None else self.language.exercises
        return names.get(exercise_id) or exercise_id.replace("_", " ")

    def _value(self, value: str | float | Sentence) -> str:
        if isinstance(value, Sentence):
            return self.said(value)
        return value if isinstance(value, str) else self.number(f"{value:.10g}")

    @cached_property
    def _tell(self) -> Translator | None:
        return None if self.language is None else Translator(self.language)


_AS_THOUSANDS = 3
_FAMILIES = ("site.", "", "record.open_referrals.")
