"""Sources that nobody could look up."""

import re

from assistant.knowledge.draft import Draft
from assistant.model.errors import Problem
from assistant.model.sources import Mark, Source

_UNPUBLISHED = {"common_practice", "judgement"}
_BY_DEFINITION = "standard"
# A year, volume or number, or a name in capitals (a body that publishes) leads a reader there.
_LEAD = re.compile(r"\d|\b[A-Z]{3,}\b")


def unlocated(draft: Draft) -> list[Problem]:
    """Return sources said to be read, or known at second hand, that name no place to find them.

    A source from memory is not asked for one: its mark already caps every grade that leans on it.
    """
    return [
        Problem(
            draft.place("source", source.id),
            "unlocated-source",
            f"source `{source.id}` is marked {source.mark.value} but names no doi, year, number or "
            "publisher; say where it can be found, or mark it from_memory",
        )
        for source in draft.sources.values()
        if _should_be_located(source) and not _is_located(source)
    ]


def _should_be_located(source: Source) -> bool:
    is_published = source.kind not in _UNPUBLISHED and source.kind != _BY_DEFINITION
    return is_published and source.mark in {Mark.READ, Mark.SECOND_HAND}


def _is_located(source: Source) -> bool:
    return bool(source.doi or source.checked_on or _LEAD.search(source.citation))
