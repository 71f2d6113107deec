"""The week a client trains now: the kept one while it stands, made again where it cannot."""

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.clients import waiting
from assistant.model.away import Away
from assistant.model.case import Case
from assistant.model.derivation import Run, word_in
from assistant.model.kept import KeptWeek, Misfit, Unfit, days_by_exercise, read_kept
from assistant.model.programme import Programme, Unmet
from assistant.model.version import Version
from assistant.plan import Planner
from assistant.plan.week import week_request
from assistant.programme.block import next_block
from assistant.programme.catalogue import expand_equipment
from assistant.programme.kept import as_kept, kept_of
from assistant.programme.progression import easier_week
from assistant.programme.request import ProgrammeRequest
from assistant.programme.sheet import without_sessions

_WEEK = "week"
_NO_TRAINING = {
    "ill": ("no training while ill", "the usual week goes on once this is over"),
    "holiday": ("a holiday without training", "the usual week goes on once this is over"),
}
_solved: dict[tuple[str, str], Programme] = {}


@dataclass(frozen=True)
class WeekNow:
    """A week, what was asked of it, and why the kept week gave way to it (empty: it stands, or none was)."""

    programme: Programme
    request: ProgrammeRequest
    unfit: tuple[Unfit, ...] = ()

    @property
    def kept(self) -> KeptWeek:
        """The choice of the week, to be kept."""
        return kept_of(self.programme, self.request)


def solved(planner: Planner, request: ProgrammeRequest) -> Programme:
    """Return the solved week; a pure function of request and book, so each is solved once a process."""
    key = (planner.kb.logic_hash, repr(request))
    if key not in _solved:
        # The solver takes a third of a second to import, and a kept week needs none.
        from assistant.programme.week import plan_week  # noqa: PLC0415

        with waiting.around():
            _solved[key] = plan_week(request, planner.catalogue)
    return _solved[key]


def kept_in(version: Version) -> KeptWeek | None:
    """Return the week kept with a version; None where none was."""
    plain = version.digest.get(_WEEK)
    return None if plain is None else read_kept(plain)


def last_kept(versions: Sequence[Version]) -> KeptWeek | None:
    """Return the week kept last: a stop leaves none, and what it interrupted goes on afterwards."""
    weeks = (kept_in(version) for version in reversed(versions))
    return next((week for week in weeks if week is not None), None)


def week_now(
    planner: Planner,
    run: Run,
    case: Case,
    kept: KeptWeek | None,
    seed: int = 1,
    *,
    lighter: bool = False,
    anew: bool = False,
    usual: bool = False,
) -> WeekNow | None:
    """Return the week of a run: the kept one if every line of it can stand, else one near it.

    lighter: a lighter week runs, so the same days and exercises come with less. anew: make one near the
    kept week even if that could stand, because another dose is asked for. usual: without regard to a
    time away. None where training is withheld or answers are missing. Raises InputProblems for a wish
    that names a day the client does not train.
    """
    request = week_request(run, planner.catalogue, seed, case.week)
    if request is None:
        return None
    away = None if usual else next((a for a in case.week.away if a.covers(planner.on)), None)
    if away is not None:
        return _week_away(planner, request, kept, away)
    week = _standing_week(planner, request, kept, anew=anew)
    if not lighter:
        return week
    sessions = easier_week(week.programme, planner.catalogue)
    return dataclasses.replace(
        week, programme=dataclasses.replace(week.programme, sessions=sessions)
    )


def _standing_week(
    planner: Planner, request: ProgrammeRequest, kept: KeptWeek | None, *, anew: bool
) -> WeekNow:
    if kept is None:
        return WeekNow(solved(planner, request), request)
    request = dataclasses.replace(request, block_style=kept.style)
    unfit: tuple[Unfit, ...] = ()
    if not anew:
        found = as_kept(kept, request, planner.catalogue)
        if not isinstance(found, Misfit):
            return WeekNow(found, request)
        unfit = found.lines
    request = dataclasses.replace(request, previous_days=days_of(kept, planner))
    return WeekNow(solved(planner, request), request, unfit)


def _week_away(
    planner: Planner, request: ProgrammeRequest, kept: KeptWeek | None, away: Away
) -> WeekNow:
    """Return the week of a time away: with what is there on travel, else without sessions."""
    if away.kind != "travel":
        why, then = _NO_TRAINING[away.kind]
        return WeekNow(without_sessions(Unmet("refused", away.kind, 1, 0, why, then)), request)
    style = request.block_style if kept is None else kept.style
    pieces = expand_equipment(planner.catalogue, away.equipment or ("bodyweight",))
    request = dataclasses.replace(request, equipment=pieces, block_style=style)
    return WeekNow(solved(planner, request), request)


def week_of_next_block(
    planner: Planner, run: Run, case: Case, versions: Sequence[Version]
) -> WeekNow | None:
    """Return the first week of the block after the one that runs; as `week_now`."""
    kept = last_kept(versions)
    now = week_now(planner, run, case, kept, usual=True)
    if now is None or not now.programme.sessions:
        return now
    weeks, style = weeks_on(versions, planner.on), word_in(run.facts, "block.next_style")
    follows = next_block(now.request, now.programme, weeks, planner.catalogue, style)
    return WeekNow(solved(planner, follows.request), follows.request)


def weeks_on(versions: Sequence[Version], on: dt.date) -> dict[str, int]:
    """Return for how many whole weeks each exercise of the current week has stood without a break."""
    since: dict[str, dt.date] = {}
    weeks = [(version.on, kept) for version in versions if (kept := kept_in(version)) is not None]
    for day, kept in weeks:
        names = {line.exercise for lines in kept.days.values() for line in lines}
        since = {name: since.get(name, day) for name in names}
    return {name: (on - day).days // 7 for name, day in since.items()}


def days_of(kept: KeptWeek, planner: Planner) -> Mapping[str, frozenset[str]]:
    """Return on which days each exercise stood, of those the rule book still has."""
    known = planner.catalogue.exercises
    return {name: days for name, days in days_by_exercise(kept.days).items() if name in known}
