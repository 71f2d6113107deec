"""What happens to a solved week over time: the weeks of a block, the easier one, a missed day."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable
from dataclasses import dataclass

from assistant.calculate.strength import round_down_to_step
from assistant.model.documents.exercises import FULL_CREDIT
from assistant.model.programme import Line, Programme, Session
from assistant.programme.catalogue import Catalogue
from assistant.programme.prescribe import step_kg
from assistant.programme.request import DAYS, ProgrammeRequest
from assistant.programme.warm_up import with_warm_up

_SHORT = "short"


@dataclass(frozen=True)
class BlockWeek:
    """One week of a block. `kind` is build or easier; `say` is the one-sentence instruction."""

    number: int
    kind: str
    sessions: tuple[Session, ...]
    say: str


@dataclass(frozen=True)
class MissedSession:
    """What becomes of the week when a day is missed; `moved_to` is a day or None."""

    sessions: tuple[Session, ...]
    moved_to: str | None
    advice: str


def block_weeks(
    programme: Programme,
    weeks: int,
    catalogue: Catalogue,
    *,
    easier_last: bool,
    grows: bool = False,
) -> tuple[BlockWeek, ...]:
    """Lays the week out over a block of 3 to 6 weeks.

    In the first half one more repetition stays in reserve; exercises and days never change inside
    a block. With `easier_last` the last week is an easier one; with `grows` the sets are few for now
    and the week is made again when more are due. Raises `ValueError` for a length
    outside 3 to 6.
    """
    least, most = catalogue.settings.progression.block_weeks
    if not least <= weeks <= most:
        raise ValueError(f"weeks: {weeks} is outside {least} to {most}; choose a length in it")
    building = weeks - 1 if easier_last else weeks
    extra = catalogue.settings.progression.rir_first_half_extra
    out = []
    for number in range(1, building + 1):
        first_half = number <= building // 2
        sessions = _with_reserve(programme.sessions, extra if first_half else 0)
        say = (
            "learn the loads: one more repetition in reserve than later"
            if first_half
            else "work down to the printed reserve; add repetitions, then load"
        )
        if grows:
            say = "few sets for now; make the week again when more are due: the exercises stay"
        out.append(BlockWeek(number, "build", sessions, say))
    if easier_last:
        say = "same days and exercises, fewer sets, lighter, nothing near the limit"
        out.append(BlockWeek(weeks, "easier", easier_week(programme, catalogue), say))
    return tuple(out)


def easier_week(programme: Programme, catalogue: Catalogue) -> tuple[Session, ...]:
    """The same days and exercises with fewer sets, more reserve and less load."""
    settings = catalogue.settings.progression
    sessions = []
    for session in programme.sessions:
        lines = []
        for line in session.lines:
            sets = max(1, math.floor(line.sets * settings.easier_week_sets_percent / 100 + 0.5))
            load = line.load_kg
            step = step_kg(catalogue.exercises[line.exercise], catalogue)
            if load is not None and step is not None:
                load = round_down_to_step(load * settings.easier_week_load_percent / 100, step)
            rir = max(line.rir, settings.easier_week_rir)
            lines.append(dataclasses.replace(line, sets=sets, rir=rir, load_kg=load or None))
        sessions.append(with_warm_up(_retimed(session, lines), catalogue))
    return tuple(sessions)


def missed_session(
    request: ProgrammeRequest, programme: Programme, day: str, catalogue: Catalogue
) -> MissedSession:
    """Moves a missed session to a free day with room around it, or saves its priority work.

    Work that is not saved is let go: it is never stacked on another day beyond one set a line.
    Raises `ValueError` if `day` is no training day of the programme.
    """
    by_day = {session.day: session for session in programme.sessions}
    if day not in by_day:
        allowed = ", ".join(by_day) or "none"
        raise ValueError(f"missed: `{day}` is no training day; allowed: {allowed}")
    missed = by_day[day]
    rest = [session for session in programme.sessions if session.day != day]
    for spare in sorted(request.available_days, key=DAYS.index):
        if DAYS.index(spare) > DAYS.index(day) and spare not in by_day:
            near = [other for other in rest if _neighbours(other.day, spare)]
            if all(_SHORT in (other.type, missed.type) for other in near):
                moved = dataclasses.replace(missed, day=spare)
                sessions = sorted([*rest, moved], key=lambda item: DAYS.index(item.day))
                return MissedSession(
                    tuple(sessions), spare, "do it on a free day with room around it"
                )
    wanted = {
        muscle
        for line in missed.lines
        for muscle in request.priority_muscles
        if catalogue.exercises[line.exercise].credits.get(muscle, 0.0) >= FULL_CREDIT
    }
    later = [
        s if DAYS.index(s.day) < DAYS.index(day) else _topped_up(s, wanted, request, catalogue)
        for s in rest
    ]
    added = sum(line.sets for s in later for line in s.lines)
    added -= sum(line.sets for s in rest for line in s.lines)
    advice = "let it go and go on with the next session"
    if added:
        sets = "one set" if added == 1 else f"{added} sets"
        advice = f"let it go; {sets} of its priority work can be added on later days that have time"
    return MissedSession(tuple(later), None, advice)


def _topped_up(
    session: Session, muscles: set[str], request: ProgrammeRequest, catalogue: Catalogue
) -> Session:
    """Adds sets for the muscles line by line while the clock and the set limits allow."""
    settings = catalogue.settings
    done = {
        muscle: sum(
            line.sets * catalogue.exercises[line.exercise].credits.get(muscle, 0.0)
            for line in session.lines
        )
        for muscle in request.target_sets
    }
    left = session.minutes_allowed * 60 - session.minutes * 60
    lines = []
    for line in session.lines:
        serves = any(
            catalogue.exercises[line.exercise].credits.get(muscle, 0.0) >= FULL_CREDIT
            for muscle in muscles
        )
        extra = settings.progression.missed_merge_sets_per_exercise if serves else 0
        cost = math.ceil(extra * line.seconds / line.sets)
        credits_of = catalogue.exercises[line.exercise].credits
        after = {
            muscle: sets + extra * credits_of.get(muscle, 0.0) for muscle, sets in done.items()
        }
        room = line.sets + extra <= settings.limits.sets_per_exercise_max and all(
            after[muscle] <= max(done[muscle], request.session_cap_sets.hard) for muscle in after
        )
        if extra and room and cost <= left:
            left -= cost
            done = after
            seconds = line.seconds + cost
            lines.append(dataclasses.replace(line, sets=line.sets + extra, seconds=seconds))
        else:
            lines.append(line)
    return _retimed(session, lines)


def _retimed(session: Session, lines: list[Line]) -> Session:
    before = sum(line.seconds for line in session.lines)
    timed = [
        dataclasses.replace(line, seconds=math.ceil(line.seconds * line.sets / old.sets))
        if line.seconds == old.seconds
        else line
        for line, old in zip(lines, session.lines, strict=True)
    ]
    minutes = session.minutes + (sum(line.seconds for line in timed) - before) / 60
    return dataclasses.replace(session, lines=tuple(timed), minutes=round(minutes, 1))


def _with_reserve(sessions: Iterable[Session], extra: int) -> tuple[Session, ...]:
    return tuple(
        dataclasses.replace(
            session,
            lines=tuple(dataclasses.replace(line, rir=line.rir + extra) for line in session.lines),
        )
        for session in sessions
    )


def _neighbours(first: str, second: str) -> bool:
    return (DAYS.index(first) - DAYS.index(second)) % len(DAYS) in (1, len(DAYS) - 1)
