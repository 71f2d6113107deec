"""The week as sessions: facts of a run and the exercise catalogue, solved."""

import dataclasses
from collections.abc import Mapping
from typing import Any

from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme
from assistant.model.wishes import WeekWishes
from assistant.plan.visibility import is_stopped, withheld_outputs
from assistant.programme.catalogue import Catalogue, catalogue_from_documents
from assistant.programme.from_facts import request_from_facts
from assistant.programme.reading import DocumentError
from assistant.programme.request import ProgrammeRequest, TopSet

# Catalogues of the last few books. Reading one takes longer than a whole plan, and a batch of pages
# asks for the same one each time. The documents are kept beside it, so that an id stays theirs.
_MOST_KEPT = 4
_kept: dict[int, tuple[Mapping[str, Any], Catalogue]] = {}


def catalogue_of(kb: KnowledgeBase) -> Catalogue:
    """Return the exercise catalogue in the rule book, read once for a book that stays loaded.

    Raises InputProblems with one line for each fault in exercises, muscles, programme or limits.
    """
    key = id(kb.documents)
    if key not in _kept:
        made = _catalogue(kb)
        if len(_kept) >= _MOST_KEPT:
            _kept.pop(next(iter(_kept)))
        _kept[key] = kb.documents, made
    return _kept[key][1]


def _catalogue(kb: KnowledgeBase) -> Catalogue:
    """Read the exercise catalogue in the rule book.

    Raises InputProblems with one line for each fault in exercises, muscles, programme or limits.
    """
    documents = kb.documents
    try:
        return catalogue_from_documents(
            documents["exercises"],
            documents["muscles"],
            documents["programme"],
            documents["limits"],
        )
    except DocumentError as error:
        raise InputProblems([Problem("rules", "bad-catalogue", str(error))]) from None


def week_request(
    run: Run, catalogue: Catalogue, seed: int = 1, wishes: WeekWishes | None = None
) -> ProgrammeRequest | None:
    """Return what the solver is asked, or None where training is withheld or answers are missing.

    Raises InputProblems where a wish names a day the client does not train.
    """
    if is_stopped(run) or "exercise_any" in withheld_outputs(run):
        return None
    request = request_from_facts(run.facts, catalogue, seed)
    if request is None or wishes is None:
        return request
    sets = {
        name: TopSet(item.load_kg, item.repetitions, item.reserve)
        for name, item in wishes.recent_sets.items()
    }
    try:
        return dataclasses.replace(
            request,
            known_top_sets=sets,
            liked=frozenset(wishes.likes),
            disliked=frozenset(wishes.dislikes),
            minutes_on=wishes.minutes_on,
        )
    except ValueError as error:
        raise InputProblems([Problem("week", "bad-value", str(error))]) from None


def week_of(
    run: Run, catalogue: Catalogue, seed: int = 1, wishes: WeekWishes | None = None
) -> Programme | None:
    """Return the solved week, or None where training is withheld or answers are missing."""
    # The solver takes a second to import, and most commands never solve a week.
    from assistant.programme.week import plan_week  # noqa: PLC0415

    request = week_request(run, catalogue, seed, wishes)
    return None if request is None else plan_week(request, catalogue)
