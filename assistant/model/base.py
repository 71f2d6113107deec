"""What every document model has in common: frozen, strict about unknown fields."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pydantic import BaseModel, ConfigDict, Discriminator


class Fault(NamedTuple):
    """What is wrong inside a document: the path to the part, a short code, and what to do."""

    path: tuple[str | int, ...]
    code: str
    text: str


class Graded(NamedTuple):
    """A graded statement inside a document: the path to the grade, the grade, its sources."""

    path: tuple[str | int, ...]
    grade: str
    sources: tuple[str, ...]


class Document(BaseModel):
    """A piece of the knowledge base. Unknown fields are errors, values never change after load."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)


class RuleFile(Document):
    """A whole file that rooms read as it stands; what it owes to the others is asked of it here."""

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return the names that others may use, by kind (see `marks.Names`)."""
        return {}

    def needs(self) -> Iterable[str]:
        """Return the parameters that whoever reads this file needs beside it."""
        return ()

    def graded(self) -> Iterator[Graded]:
        """Yield what carries a grade, with the sources it rests on."""
        return iter(())

    def completes(self) -> Iterable[tuple[str, str, Iterable[str]]]:
        """Return what must be here in full: the field, the kind of names, and those that are."""
        return ()

    def faults(self) -> Iterator[Fault]:
        """Yield what is wrong with a whole file that its fields by themselves cannot tell."""
        return iter(())


def told_apart(allowed: str, *fields: str, otherwise: str | None = None) -> Discriminator:
    """Return what tells apart the shapes that may stand in one place, so that only the meant one is blamed.

    Each is tagged `<bool>`, `<number>`, `<text>` or `<list>`, and a mapping with the first of the
    fields that it has. allowed: said where none of them is meant. otherwise: any other mapping.
    """

    def kind(value: Any) -> str | None:
        if isinstance(value, dict | BaseModel):
            names = value if isinstance(value, dict) else type(value).model_fields
            return next((f"<{field}>" for field in fields if field in names), otherwise)
        kinds = (
            (bool, "<bool>"),
            (int | float, "<number>"),
            (str, "<text>"),
            (list | tuple, "<list>"),
        )
        return next((tag for each, tag in kinds if isinstance(value, each)), None)

    return Discriminator(kind, custom_error_type="does_not_fit", custom_error_message=allowed)


def repeated(names: Iterable[tuple[tuple[str | int, ...], str]]) -> Iterator[Fault]:
    """Yield a fault for each path whose name stood at an earlier one already."""
    seen: set[str] = set()
    for path, name in names:
        if name in seen:
            yield Fault(path, "repeated-id", f"`{name}` stands twice; name one of them otherwise")
        seen.add(name)
