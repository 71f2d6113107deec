"""Words and numbers for people: sentence templates, rounding, units of the reader's choice.

Templates come from `rules/`. A placeholder names a fact, a parameter or the loop element, so that
every number in a sentence has an address that `why` understands.
"""

import re
import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Grammar
from assistant.model.marks import PLACEHOLDER
from assistant.model.values import Status, Value

# Columns of a page for a terminal or a printer.
WIDTH = 80
# What one unit of ours is in the reader's units, where the reader uses pounds and inches.
_IMPERIAL: Mapping[str, tuple[str, float]] = {
    "kg": ("lb", 1 / 0.45359237),
    "cm": ("in", 1 / 2.54),
    "kg/wk": ("lb/wk", 1 / 0.45359237),
}
_METRIC_DECIMALS = {"lb": 0, "in": 1, "lb/wk": 2}
# A unit written out behind a value, in a template made for kg and cm; parameters stay as they are.
_WRITTEN_UNIT = re.compile(r"(\{(?!param:)(?:value|[^{}]*\.[^{}]*)\}) (kg|cm)\b")


@dataclass(frozen=True)
class Phrasebook:
    """Formats facts of one knowledge base; `imperial` shows kg and cm as lb and in."""

    kb: KnowledgeBase
    imperial: bool = False

    def label(self, word: str, fact_id: str = "") -> str:
        """Return the plain words for an id (muscle, choice, role), from rules/wording.yaml.

        Words for one fact's choice stand there under `fact.choice`.
        """
        labels = self.kb.wording.labels
        return labels.get(f"{fact_id}.{word}", labels.get(word, word.replace("_", " ")))

    def unit_words(self, unit: str, count: float = 0) -> str:
        """Return the words for a unit; count: 1 makes them singular."""
        return self.kb.wording.unit_words(unit, count)

    def number(self, value: float, decimals: int) -> str:
        """Round for display; negative decimals round to tens or hundreds."""
        rounded = round(value, decimals)
        if decimals <= 0 or float(rounded).is_integer():
            return f"{rounded:.0f}"
        return self.written(f"{rounded:.{decimals}f}")

    def written(self, number: str) -> str:
        """Return a number printed with a point as it is written in the reader's language."""
        return number.replace(".", self.grammar.decimal_mark)

    @property
    def grammar(self) -> Grammar:
        """How this knowledge base joins values in sentences."""
        return self.kb.wording.grammar

    def value(self, fact_id: str, value: Value) -> str:
        """Return a fact's value in words, without its unit."""
        declaration = self.kb.facts.get(fact_id)
        if isinstance(value, Status):
            return self.label(value.value)
        if isinstance(value, bool):
            return self.grammar.true_word if value else self.grammar.false_word
        if isinstance(value, tuple):
            return self._list([self.label(item, fact_id) for item in value])
        if isinstance(value, str):
            return value if self._is_plain(declaration) else self.label(value, fact_id)
        shown, _, decimals = self._in_reader_units(value, declaration)
        return self.number(shown, decimals)

    def unit_of(self, fact_id: str, count: float = 0) -> str:
        """Return the words for a fact's unit in the reader's units; count: 1 makes it singular."""
        declaration = self.kb.facts.get(fact_id)
        _, unit, _ = self._in_reader_units(0.0, declaration)
        return self.unit_words(unit, count)

    def range(self, fact_id: str, low: float | None, high: float | None) -> str:
        """Return `low to high` as shown to a reader, or an empty text where there is no range."""
        if low is None or high is None:
            return ""
        first, last = self.value(fact_id, low), self.value(fact_id, high)
        return first if first == last else self.grammar.range.format(low=first, high=last)

    def render(self, template: str, resolve: Callable[[str], str | None]) -> str:
        """Fill a template; `resolve` gives the words for a placeholder.

        Raises KeyError naming the placeholder that nobody could fill.
        """

        def fill(match: re.Match[str]) -> str:
            text = resolve(match.group(1))
            if text is None:
                raise KeyError(f"nothing fills the placeholder {{{match.group(1)}}} in: {template}")
            return text

        if self.imperial:
            template = _WRITTEN_UNIT.sub(
                lambda match: f"{match.group(1)} {_IMPERIAL[match.group(2)][0]}", template
            )
        text = " ".join(PLACEHOLDER.sub(fill, template).split())
        # "1 sessions" reads badly; the templates are written for more than one.
        for many, one in self.grammar.ones.items():
            if f"1 {many}" in text:
                text = re.sub(rf"(?<![\d.,])1 {re.escape(many)}\b", f"1 {one}", text)
        return text

    def in_reader_units(self, unit: str) -> tuple[float, str]:
        """Return what one kg or cm is in the reader's unit, and the name of that unit."""
        other, factor = _IMPERIAL[unit] if self.imperial else (unit, 1.0)
        return factor, self.unit_words(other)

    def _in_reader_units(
        self, value: float, declaration: FactDeclaration | None
    ) -> tuple[float, str, int]:
        if declaration is None:
            return value, "1", 2
        unit, decimals = declaration.unit, declaration.decimals
        if self.imperial and unit in _IMPERIAL:
            other, factor = _IMPERIAL[unit]
            return value * factor, other, _METRIC_DECIMALS[other]
        return value, unit, decimals

    @staticmethod
    def _is_plain(declaration: FactDeclaration | None) -> bool:
        return declaration is not None and declaration.type in {FactType.TEXT, FactType.DATE}

    def _list(self, words: list[str]) -> str:
        if not words:
            return self.grammar.empty_list
        if len(words) == 1:
            return words[0]
        return self.grammar.last_of_list.format(first=", ".join(words[:-1]), last=words[-1])


def ended(text: str) -> str:
    """Return somebody's words with the mark that ends a sentence."""
    return text if text.endswith((".", "!", "?")) else f"{text}."


def sentence_case(text: str) -> str:
    """Return a text with a capital first letter."""
    return text[:1].upper() + text[1:]


def wrapped(text: str, first: str = "", rest: str = "  ") -> list[str]:
    """Return a text in lines of the page's width; `first` and `rest` begin the first line and the others."""
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    ) or [first.rstrip()]


def underlined(title: str) -> list[str]:
    """Return a heading as it stands between the parts of a page of text."""
    return ["", title, "-" * len(title)]
