"""What the weeks were like: sessions, nights, soreness, mood, appetite, pain. Plain means and counts."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from assistant.measure.settings import Settings
from assistant.model.history import DayNote, History, SessionMark

_DAY = dt.timedelta(days=1)
_WEEK = 7
_PAIN_WEEKS = 3


@dataclass(frozen=True)
class Habits:
    """Means over the last days; None where nothing was noted.

    sessions_planned, sessions_done_percent: over the last weeks; sessions_untold: those of them
    that nobody told about, which count as not done. weeks_away: whole weeks from the last session done
    to the last word about anything, times away left out; None where none ever was. days_silent: since that
    word, or since the plan began where there was none; None where that is less than a week. sleep_hours: last seven nights. pain_weeks: how
    many of the three weeks up to the last word about pain had pain that counts. days_since_period:
    since the last noted start
    of one.
    """

    sessions_planned: int
    sessions_done_percent: float | None
    sessions_untold: int
    weeks_away: int | None
    days_silent: int | None
    nights_noted: int
    sleep_hours: float | None
    soreness_1_to_5: float | None
    mood_1_to_5: float | None
    appetite_1_to_5: float | None
    pain_max_0_to_10: int | None
    pain_weeks: int
    days_since_period: int | None


def habits(history: History, last: dt.date, settings: Settings) -> Habits:
    """Return the habits up to and including a last day."""
    done, told, planned = sessions(history, last, settings)
    lately = last - dt.timedelta(days=int(settings.note_days) - 1)
    notes = [note for note in history.notes if lately <= note.day <= last]
    week = last - dt.timedelta(days=_WEEK - 1)
    nights = [
        note.sleep_hours for note in notes if note.day >= week and note.sleep_hours is not None
    ]
    pains = [pain.pain_0_to_10 for pain in history.pains if lately <= pain.day <= last]
    periods = [note.day for note in history.notes if note.cycle_start and note.day <= last]
    return Habits(
        sessions_planned=planned,
        sessions_done_percent=100.0 * done / planned if planned else None,
        sessions_untold=planned - told,
        weeks_away=_weeks_away(history, last),
        days_silent=_days_silent(history, last),
        nights_noted=len(nights),
        sleep_hours=fmean(nights) if nights else None,
        soreness_1_to_5=_mean(notes, "soreness_1_to_5"),
        mood_1_to_5=_mean(notes, "mood_1_to_5"),
        appetite_1_to_5=_mean(notes, "appetite_1_to_5"),
        pain_max_0_to_10=max(pains, default=None),
        pain_weeks=_weeks_with_pain(history, last, settings),
        days_since_period=(last - max(periods)).days if periods else None,
    )


def sessions(history: History, last: dt.date, settings: Settings) -> tuple[int, int, int]:
    """Return sessions done, told about and planned over the last weeks.

    Whole weeks that nobody told about hold as many planned sessions as the fullest week told, none of
    them done. Days after the last line of the record are still open. Times away are left out: nothing
    was planned then.
    """
    span = dt.timedelta(weeks=int(settings.habit_weeks))
    since = last - span + _DAY
    marks = {
        m.day: m.done
        for m in sorted(history.sessions, key=_day)
        if m.day <= last and not _is_away(history, m.day)
    }
    told = [day for day in marks if day >= since]
    known = [day for day in marks if day >= since - span]
    if not known:
        return 0, 0, 0
    fullest = max(sum(day <= each < day + 7 * _DAY for each in known) for day in known)
    before = [day for day in known if day < since][-1:]
    until = min(last, last_told(history, last) or last)
    ends = [*before, *told, max(until + _DAY, known[-1])]
    gaps = [(max(a + _DAY, since), b) for a, b in pairwise(ends)]
    silent = [((b - a).days - _days_away(history, a, b)) // 7 for a, b in gaps]
    planned = len(told) + fullest * sum(weeks for weeks in silent if weeks > 0)
    return sum(marks[day] for day in told), len(told), planned


def _is_away(history: History, day: dt.date) -> bool:
    return any(away.covers(day) for away in history.away)


def _days_away(history: History, first: dt.date, end: dt.date) -> int:
    """Return how many days from `first` to before `end` were spent away."""
    spans = ((max(each.since, first), min(each.until + _DAY, end)) for each in history.away)
    return sum(max(0, (until - since).days) for since, until in spans)


def _weeks_away(history: History, last: dt.date) -> int | None:
    done = [mark.day for mark in history.sessions if mark.done and mark.day <= last]
    until = last_told(history, last)
    if not done or until is None:
        return None
    return ((until - max(done)).days - _days_away(history, max(done), until)) // _WEEK


def _days_silent(history: History, last: dt.date) -> int | None:
    # Who never told anything is silent since the plan began.
    began = min((row.day for row in history.agreements if row.day <= last), default=last)
    days = (last - (last_told(history, last) or began)).days
    return days if days >= _WEEK else None


def _day(mark: SessionMark) -> dt.date:
    return mark.day


def last_told(history: History, on: dt.date) -> dt.date | None:
    """Return the last day up to a day that anything was told about; None without any."""
    series = (history.weighings, history.eating, history.top_sets, history.sessions, history.notes,
              history.girths, history.pains, history.signs)  # fmt: skip
    return max((row.day for rows in series for row in rows if row.day <= on), default=None)


def _weeks_with_pain(history: History, last: dt.date, settings: Settings) -> int:
    """Return in how many of three weeks some pain reached the line that counts.

    The weeks end with the last day pain was told about, even as none: silence is no relief.
    """
    told = [pain for pain in history.pains if pain.day <= last]
    end = max((pain.day for pain in told), default=last)
    weeks = {
        (end - pain.day).days // 7 for pain in told if pain.pain_0_to_10 >= settings.pain_counts
    }
    return sum(1 for week in weeks if week < _PAIN_WEEKS)


def _mean(notes: Sequence[DayNote], name: str) -> float | None:
    said = [value for note in notes if (value := getattr(note, name)) is not None]
    return fmean(said) if said else None
