"""Where a client's plan stands on a day: its version, the week of the block, what differs today."""

import datetime as dt
from collections.abc import Sequence

from assistant.explain.versions import Changed, changes
from assistant.measure.agreed import Agreed
from assistant.model.derivation import number_in
from assistant.model.version import Place, Version
from assistant.plan.digest import plan_digest
from assistant.plan.sentences import Narrator

_WEEK = dt.timedelta(weeks=1)


def place_of(
    versions: Sequence[Version], agreed: Agreed | None, narrator: Narrator
) -> Place | None:
    """Return where the plan of a run stands; None for somebody without a version."""
    if not versions:
        return None
    current, run, on = versions[-1], narrator.run, narrator.on
    today = plan_digest(narrator.kb, run, on)
    differs = tuple(in_words(each) for each in changes(current.digest, today, narrator))
    since = None if agreed is None else agreed.block_since
    weeks = number_in(run.facts, "block.weeks")
    return Place(
        current,
        differs,
        block_since=since,
        block_week=0 if since is None else (on - since).days // 7 + 1,
        block_weeks=None if weeks is None else int(weeks),
        easier_until=easier_until(agreed, on),
    )


def easier_until(agreed: Agreed | None, on: dt.date) -> dt.date | None:
    """Return the last day of the lighter week that runs on a day; None where none does."""
    if agreed is None or agreed.easier_since is None:
        return None
    last = agreed.easier_since + _WEEK - dt.timedelta(days=1)
    return last if agreed.easier_since <= on <= last else None


def in_words(change: Changed) -> str:
    """Return a change as one line."""
    return f"{change.label}: {change.before or 'none'} -> {change.after or 'none'}"
