"""Gaps: what a begun file leaves to its author, marked in the text itself until it is written.

A file with a gap is refused, and nothing else is said of it: the rest can be judged once it is whole.
"""

from collections.abc import Iterator

from assistant.knowledge.parsed import Parsed
from assistant.model.errors import Problem

BEGINNING = "<write: "


def gap(what: str) -> str:
    """Return the mark that stands where the author is to write something."""
    return f"{BEGINNING}{what}>"


def unwritten(parsed: Parsed) -> Iterator[Problem]:
    """Yield every gap of a file with its line."""
    for path in parsed.lines:
        here = parsed.data
        for step in path:
            here = here[step]
        for text in (here, path[-1] if path else None):
            if isinstance(text, str) and text.startswith(BEGINNING):
                what = text.removeprefix(BEGINNING).removesuffix(">")
                yield Problem(parsed.place(*path), "unwritten", f"to be written here: {what}")
