"""wording.yaml: plain words for ids and units, and how values are joined."""

from typing import Annotated

from assistant.model.base import RuleFile
from assistant.model.language import Grammar
from assistant.model.marks import Fact, Names, Plain


class Wording(RuleFile):
    """Words in English. labels: by id, `fact.choice`, `site.<place>` or `short.<muscle>`.

    counted: what the places of a choice or the items of a list are counted in, one and many. typed_for: what
    people type, and the word of the plan that they mean by it.
    """

    units: dict[Annotated[str, Names("unit")], Plain] = {}
    grammar: Grammar = Grammar()
    counted: dict[Fact, tuple[Plain, Plain]] = {}
    labels: dict[Annotated[str, Names("label")], Plain] = {}
    typed_for: dict[Plain, Plain] = {}

    def unit_words(self, unit: str, count: float = 0) -> str:
        """Return a unit as it stands in a sentence, e.g. `kcal/d` -> `kcal a day`; count: 1 makes it singular."""
        said = self.units.get(unit, "" if unit in {"1", "text", "date"} else unit)
        first, space, rest = said.partition(" ")
        return f"{self.grammar.ones.get(first, first)}{space}{rest}" if count == 1 else said
