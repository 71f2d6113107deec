"""exchange.yaml: what answers and measures are called in open standards."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile, repeated
from assistant.model.marks import Fact, Names, SourceName, Text

_Loinc = Annotated[str, Field(pattern=r"^[0-9]{1,7}-[0-9]$")]


class Code(Document):
    """What a fact is called in LOINC: code, display, category; `panel` holds parts of one measure.

    when: other facts and the answers they must have for the code to hold.
    """

    fact: Fact
    loinc: _Loinc
    display: Text
    category: Literal["vital-signs", "social-history", "exam"]
    panel: Annotated[str, Names("panel")] | None = None
    when: dict[Fact, str] = {}
    source: SourceName


class Exchange(RuleFile):
    """The whole file. base: what our own names begin with. panels: their displays by code."""

    base: Annotated[str, Field(pattern=r"^https://\S+[^/\s]$")]
    title: Text
    observations: tuple[Code, ...]
    panels: dict[_Loinc, Text] = {}

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return the panels."""
        return {"panel": self.panels}

    def faults(self) -> Iterator[Fault]:
        """Yield codes that stand for two measures."""
        rows = enumerate(self.observations)
        return repeated((("observations", number, "loinc"), code.loinc) for number, code in rows)
