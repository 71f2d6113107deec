"""A version of a client's plan: what was kept on a day, who kept it and why. Shapes only."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from assistant.model.away import Away

# What a version came from. `earlier`: kept by a program that did not write it down yet.
Cause = Literal[
    "added",
    "answers",
    "measures",
    "screen",
    "review",
    "edit",
    "override",
    "away",
    "decision",
    "earlier",
]
CAUSES: tuple[str, ...] = get_args(Cause)


@dataclass(frozen=True)
class Version:
    """A kept plan. number: 1 for the first of a client. digest: the plan as plain data.

    by: who kept it; empty where nobody said. reason: in that person's words, or empty.
    """

    number: int
    on: dt.date
    digest: Mapping[str, Any]
    cause: Cause = "earlier"
    by: str = ""
    reason: str = ""

    @property
    def facts(self) -> Mapping[str, Any]:
        """What was concluded, by fact key, as plain data."""
        facts: Mapping[str, Any] = self.digest["facts"]
        return facts


@dataclass(frozen=True)
class Place:
    """Where a plan stands in a client's record on a day.

    version: the current one. differs: what the plan of the day says otherwise, in words. block_since,
    block_week: first day of the running block, and its week on the day, from 1. block_weeks: how many
    it has; None where the plan sets none. easier_until: last day of a lighter week that runs.
    away: the times away that are not over yet, the one that runs first. warnings: those that are open,
    in a coach's words.
    """

    version: Version
    differs: tuple[str, ...] = ()
    block_since: dt.date | None = None
    block_week: int = 0
    block_weeks: int | None = None
    easier_until: dt.date | None = None
    away: tuple[Away, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def block_until(self) -> dt.date | None:
        """The last day of the running block; None where none runs or it sets no length."""
        if self.block_since is None or self.block_weeks is None:
            return None
        return self.block_since + dt.timedelta(weeks=self.block_weeks, days=-1)
