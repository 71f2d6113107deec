"""Marks on the fields of documents: what a text names, and what may stand in its placeholders.

The loader follows them through every document, so a name that nobody declares is refused with its
place, whichever file it stands in.
"""

import re
from dataclasses import dataclass
from typing import Annotated, TypeAlias

from pydantic import Field

from assistant.model.values import split_key

# The kind of a text that begins the names of facts.
FACT_BEGINNING = "beginning of a fact"
PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True)
class Names:
    """The text is the name of something declared elsewhere.

    kind: `fact`, `parameter`, `source`, ..., a domain of book.yaml, or what a document declares.
    """

    kind: str


@dataclass(frozen=True)
class Slots:
    """The text is a template. names: its own placeholders; facts: it may name facts as well."""

    names: tuple[str, ...] = ()
    facts: bool = False


Text: TypeAlias = Annotated[str, Field(min_length=1)]
Plain: TypeAlias = Annotated[str, Field(min_length=1), Slots()]
Fact: TypeAlias = Annotated[str, Names("fact")]
Number: TypeAlias = Annotated[str, Names("parameter")]
SourceName: TypeAlias = Annotated[str, Names("source")]
Output: TypeAlias = Annotated[str, Names("output")]


def placeholders(template: str) -> tuple[str, ...]:
    """Return what a template's placeholders name, in order."""
    return tuple(PLACEHOLDER.findall(template))


def placeholder_fact(placeholder: str) -> str | None:
    """Return the fact id a placeholder names, or None for `value`, `param:...` and loop names."""
    name = placeholder.removesuffix(":range").removesuffix(":unit")
    fact_id, _ = split_key(name)
    return fact_id if "." in fact_id and not name.startswith("param:") else None
