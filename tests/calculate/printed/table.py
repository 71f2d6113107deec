"""The form of a printed value, and who refuses a wrong one."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

# A tolerance wider than this part of the printed value would let anything pass.
WIDEST = 0.2


@dataclass(frozen=True)
class Text:
    """An outside text. cited: where the value stands. mark: how we know it, as in the book."""

    cited: str
    mark: str


@dataclass(frozen=True)
class Printed:
    """One printed value. text: the id of its text. got: what this package or its book says.

    within: how far the two may lie apart: the rounding of the print, or the error the text states.
    """

    text: str
    what: str
    printed: float
    got: Callable[[], float]
    within: float


def refused(row: Printed, texts: dict[str, Text]) -> str | None:
    """Return what is wrong with a row; None if the package says what is printed."""
    if row.text not in texts:
        return f"{row.what}: `{row.text}` is no text of the table"
    if not 0 < row.within <= WIDEST * abs(row.printed):
        return f"{row.what}: within {row.within:g} of {row.printed:g} would tell nothing"
    got = row.got()
    if abs(got - row.printed) > row.within + 1e-9:
        return f"{row.what}: {texts[row.text].cited} prints {row.printed:g}, we say {got:g}"
    return None


def repeated(rows: list[Printed]) -> Iterator[str]:
    """Yield what stands twice, so that no value is counted twice."""
    seen: set[tuple[str, str]] = set()
    for row in rows:
        if (row.text, row.what) in seen:
            yield f"{row.text}: {row.what}"
        seen.add((row.text, row.what))
