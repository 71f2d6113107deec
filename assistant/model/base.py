"""What every document model has in common: frozen, strict about unknown fields."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict


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

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


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


def repeated(names: Iterable[tuple[tuple[str | int, ...], str]]) -> Iterator[Fault]:
    """Yield a fault for each path whose name stood at an earlier one already."""
    seen: set[str] = set()
    for path, name in names:
        if name in seen:
            yield Fault(path, "repeated-id", f"`{name}` stands twice; name one of them otherwise")
        seen.add(name)
