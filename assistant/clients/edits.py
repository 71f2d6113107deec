"""A client's week with other edits by hand: to the letter, with the rest arranged anew, and back."""

import dataclasses
from collections.abc import Iterable, Sequence

from assistant.casefiles.edits import read_edits
from assistant.clients.week import WeekNow, days_of, kept_in, solved
from assistant.knowledge.parsed import Parsed
from assistant.model.kept import KeptWeek, Misfit
from assistant.model.knowledge import KnowledgeBase
from assistant.model.version import Version
from assistant.model.wishes import WeekEdit
from assistant.plan import Planner
from assistant.programme.hand import hand_of
from assistant.programme.kept import as_kept

# Where a version holds the edits that are in its week.
EDITS = "edits"


def edited(
    planner: Planner, now: WeekNow, edits: Iterable[WeekEdit], base: KeptWeek | None = None
) -> WeekNow:
    """Return the week with these edits and no others carried out, the rest as it is.

    base: an earlier week to start from; where it can stand no longer, the week of now serves.
    """
    request = dataclasses.replace(now.request, hand=hand_of(edits))
    for kept in filter(None, (base, now.kept)):
        found = as_kept(kept, request, planner.catalogue)
        if not isinstance(found, Misfit):
            return WeekNow(found, request)
    return rearranged(planner, WeekNow(now.programme, request))


def rearranged(planner: Planner, week: WeekNow) -> WeekNow:
    """Return the week near this one that a solve makes around what was changed by hand."""
    request = dataclasses.replace(week.request, previous_days=days_of(week.kept, planner))
    return WeekNow(solved(planner, request), request)


def edits_in(version: Version, kb: KnowledgeBase) -> tuple[WeekEdit, ...]:
    """Return the edits that are in the week of a version."""
    return read_edits(version.digest.get(EDITS, []), kb, Parsed("version", {}, {}), [], kept=True)


def week_before(versions: Sequence[Version], edit: WeekEdit) -> KeptWeek | None:
    """Return the week as it was kept last without an edit; None where a new block began since."""
    written = edit.as_written()
    for version in reversed(versions):
        if written not in version.digest.get(EDITS, ()):
            return kept_in(version)
        if version.facts.get("review.decision") == "rotate_block":
            return None
    return None
