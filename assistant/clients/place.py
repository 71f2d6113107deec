"""Where a client's plan stands on a day: its version, the week of the block, what differs today."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from assistant.explain.versions import changes
from assistant.measure.agreed import Agreed
from assistant.model.away import Away
from assistant.model.derivation import number_in
from assistant.model.version import Place, Version
from assistant.plan.digest import plan_digest
from assistant.plan.sentences import Narrator
from assistant.plan.views import flag_records
from assistant.plan.warnings import open_warnings

_WEEK, _DAY = dt.timedelta(weeks=1), dt.timedelta(days=1)


def place_of(
    versions: Sequence[Version],
    agreed: Agreed | None,
    narrator: Narrator,
    away: Sequence[Away],
    easier_until: dt.date | None,
) -> Place | None:
    """Return where the plan of a run stands; None for somebody without a version."""
    if not versions:
        return None
    current, run, on = versions[-1], narrator.run, narrator.on
    today = plan_digest(narrator.kb, run, on)
    differs = tuple(each.words for each in changes(current.digest, today, narrator))
    since = None if agreed is None else agreed.block_since
    weeks = number_in(run.facts, "block.weeks")
    return Place(
        current,
        differs,
        block_since=since,
        block_week=0 if since is None else (on - since).days // 7 + 1,
        block_weeks=None if weeks is None else int(weeks),
        easier_until=easier_until,
        away=tuple(each for each in away if each.until >= on),
        warnings=open_warnings(narrator, open_since(versions, narrator)),
    )


def open_since(versions: Sequence[Version], narrator: Narrator) -> dict[str, dt.date]:
    """Return, by flag in force, the day of the first version of all those without a break that raised it."""
    since: dict[str, dt.date] = {}
    for flag in (record["id"] for record in flag_records(narrator.kb, narrator.run)):
        since[flag] = narrator.on
        for version in reversed(versions):
            if flag not in {each["id"] for each in version.digest.get("flags", ())}:
                break
            since[flag] = version.on
    return since


def easier_until(
    agreed: Agreed | None, away: Sequence[Away], on: dt.date, longest_days: float
) -> dt.date | None:
    """Return the last day of the lighter week that runs on a day; None where none does.

    One runs after a review agreed on it, and after a time without training of so many days or more.
    """
    begins = [*after_times_away(away, longest_days)]
    if agreed is not None and agreed.easier_since is not None:
        begins.append(agreed.easier_since)
    running = [day + _WEEK - _DAY for day in begins if day <= on < day + _WEEK]
    return max(running, default=None)


def after_times_away(away: Iterable[Away], longest_days: float) -> Iterator[dt.date]:
    """Yield the first days of the lighter weeks that follow times without training."""
    for each in away:
        if each.kind != "travel" and each.days >= longest_days:
            yield each.until + _DAY
