"""The week as sessions: facts of a run and the exercise catalogue, solved."""

from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme
from assistant.plan.visibility import is_stopped, withheld_outputs
from assistant.programme.catalogue import Catalogue, catalogue_from_documents
from assistant.programme.from_facts import request_from_facts
from assistant.programme.reading import DocumentError
from assistant.programme.week import plan_week


def catalogue_of(kb: KnowledgeBase) -> Catalogue:
    """Return the exercise catalogue in the rule book.

    Raises InputProblems with one line for each fault in exercises, muscles or programme.
    """
    documents = kb.documents
    try:
        return catalogue_from_documents(
            documents["exercises"], documents["muscles"], documents["programme"]
        )
    except DocumentError as error:
        raise InputProblems([Problem("rules", "bad-catalogue", str(error))]) from None


def week_of(run: Run, catalogue: Catalogue, seed: int = 1) -> Programme | None:
    """Return the solved week, or None where training is withheld or answers are missing."""
    if is_stopped(run) or "exercise_any" in withheld_outputs(run):
        return None
    request = request_from_facts(run.facts, catalogue, seed)
    return None if request is None else plan_week(request, catalogue)
