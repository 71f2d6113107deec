"""The knowledge base while it is being put together: models by id, and where each one stands."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from assistant.knowledge.parsed import Parsed, RawPath
from assistant.model.base import RuleFile
from assistant.model.book import Book
from assistant.model.documents.flags import Flag
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import Place
from assistant.model.language import Language
from assistant.model.parameters import Parameter
from assistant.model.questions import Question, Section
from assistant.model.rules import Rule
from assistant.model.sources import GradeMeaning, Source


@dataclass(frozen=True)
class Origin:
    """Where one item stands: a file, and the path inside it."""

    parsed: Parsed
    at: RawPath = ()


@dataclass
class Draft:
    """Everything that has the right shape; the cross-checks read it.

    files: documents by file stem. flags: by id. languages: by code.
    origins: by kind (`rule`, `fact`, `parameter`, `source`, `grade`, `section`, `question`, `flag`,
    `document`, `language`) and id.
    overlay: a coach's own parameter values.
    """

    book: Book
    facts: dict[str, FactDeclaration] = field(default_factory=dict)
    parameters: dict[str, Parameter] = field(default_factory=dict)
    rules: dict[str, Rule] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    grades: dict[str, GradeMeaning] = field(default_factory=dict)
    sections: list[Section] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    files: dict[str, RuleFile] = field(default_factory=dict)
    flags: dict[str, Flag] = field(default_factory=dict)
    languages: dict[str, Language] = field(default_factory=dict)
    origins: dict[tuple[str, str], Origin] = field(default_factory=dict)
    overlay: Mapping[str, float] = field(default_factory=dict)

    def place(self, kind: str, item: str, *path: str | int) -> str:
        """`file:line` of a part of an item; what the rows of a table share stands once, above them."""
        origin = self.origins[kind, item]
        parsed, at = origin.parsed, origin.at
        if path and at[:1] == ("rows",) and (*at, path[0]) not in parsed.lines:
            shared = parsed.data.get("shared", {})
            # Lists are made of shared entries and of the row's own.
            if path[0] in shared and not isinstance(shared[path[0]], list):
                at = ("shared",)
        return parsed.place(*at, *path)

    def places(self) -> dict[str, Place]:
        """Places for the finished knowledge base: rules by id, the rest as `kind:id`."""
        return {
            item if kind == "rule" else f"{kind}:{item}": Place(
                origin.parsed.file, origin.parsed.line(origin.at)
            )
            for (kind, item), origin in sorted(self.origins.items())
        }
