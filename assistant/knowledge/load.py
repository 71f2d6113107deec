"""Load a knowledge base: from its compiled copy, or read, checked and copied."""

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias, TypedDict, Unpack

from assistant.knowledge import cache
from assistant.knowledge.contents import read_contents
from assistant.knowledge.files import HOUSE
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase

if TYPE_CHECKING:
    from assistant.knowledge.draft import Draft

# What else must hold before a book with a house's own folder over it may be used.
Guard: TypeAlias = Callable[["Draft"], list[Problem]]


class Loading(TypedDict, total=False):
    """How a knowledge base is loaded.

    on: the day for which a house's folder counts, None for all that stands in it; numbers: the text of a
    house's numbers, instead of what is written. calculators: by name, with `inputs` (each with a `unit`) and
    `unit`; None leaves their names unchecked. cache_directory: None is the user's own cache folder; use_cache:
    whether compiled copies may be read and written. guard: asked of a folder once nothing else is wrong.
    """

    on: dt.date | None
    numbers: str | None
    calculators: Mapping[str, Any] | None
    cache_directory: Path | None
    use_cache: bool
    guard: Guard | None


def load_knowledge(
    directory: Path | None = None, house: Path | None = None, **how: Unpack[Loading]
) -> KnowledgeBase:
    """Return the checked knowledge base of a folder.

    directory: the folder with book.yaml; None is the shipped one. house: a gym's own folder, or a file of
    its numbers alone. Raises InputProblems with everything that is wrong.
    """
    return load_kept(directory, house, **how)[0]


def load_kept(
    directory: Path | None = None, house: Path | None = None, **how: Unpack[Loading]
) -> tuple[KnowledgeBase, cache.Copy | None]:
    """Return the same, and the place of its compiled copies if there may be any. Raises InputProblems."""
    on, calculators, guard = how.get("on"), how.get("calculators"), how.get("guard")
    read = read_contents(directory, house, how.get("numbers"))
    by_house = any(file.layer == HOUSE for file in read.files)
    depends = (f"{on} {guard is not None}" if by_house else "", read.contents, read.numbers)
    copy = None
    if how.get("use_cache", True):
        copy = cache.Copy.of(*depends, calculators, how.get("cache_directory"))
    kept = None if copy is None or read.problems else copy.read()
    if kept is not None:
        return kept, copy
    # Most starts find a copy; what reads and checks a book is imported where there is none.
    from assistant.knowledge.drafting import draft_of, knowledge_of  # noqa: PLC0415

    draft, wrong = draft_of(read, on, calculators)
    if not wrong:
        draft = knowledge_of(draft)
        wrong = guard(draft) if guard is not None and by_house else []
    if wrong:
        raise InputProblems(wrong)
    kb = draft.without_lines()
    if copy is not None:
        copy.write(kb)
    return kb, copy
