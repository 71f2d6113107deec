"""The knowledge base while it is being checked: with the line of every part."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Any

from assistant.knowledge.parsed import Parsed, RawPath
from assistant.model.knowledge import KnowledgeBase, Place


@dataclass(frozen=True)
class Origin:
    """Where one item stands: a file, and the path inside it."""

    parsed: Parsed
    at: RawPath = ()

    @property
    def start(self) -> Place:
        """Where the item begins."""
        return Place(self.parsed.file, self.parsed.line(self.at))


@dataclass(frozen=True)
class Draft(KnowledgeBase):
    """Everything that has the right shape; the cross-checks read it.

    origins: by kind (`rule`, `fact`, `parameter`, `source`, `grade`, `section`, `question`,
    `tick_list`, `typed_word`, `flag`, `document`, `language`, `how_to`, `how_to_said`, `pose`) and id.
    replaced: by kind and id, what of the book something laid over it stands in the place of.
    """

    origins: Mapping[tuple[str, str], Origin] = field(default_factory=dict)
    replaced: Mapping[tuple[str, str], Any] = field(default_factory=dict)

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

    def without_lines(self) -> KnowledgeBase:
        """Return the knowledge base that a plan needs."""
        return KnowledgeBase(
            **{each.name: getattr(self, each.name) for each in fields(KnowledgeBase)}
        )


def by_id(items: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return items in the order of their ids, so that nothing depends on the order of files."""
    return MappingProxyType(dict(sorted(items.items())))
