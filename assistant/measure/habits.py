"""What the weeks were like: sessions, nights, soreness, mood, appetite, pain. Plain means and counts."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from assistant.measure.settings import Settings
from assistant.model.history import DayNote, History

_NIGHTS = 7
_PAIN_WEEKS = 3


@dataclass(frozen=True)
class Habits:
    """Means over the last days; None where nothing was noted.

    sessions_planned, sessions_done_percent: over the last weeks; sessions_untold: those of them
    that nobody told about, which count as not done. sleep_hours: last seven nights. pain_weeks: how
    many of the last three weeks had pain that counts. days_since_period: since the last noted start
    of one.
    """

    sessions_planned: int
    sessions_done_percent: float | None
    sessions_untold: int
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
    week = last - dt.timedelta(days=_NIGHTS - 1)
    nights = [
        note.sleep_hours for note in notes if note.day >= week and note.sleep_hours is not None
    ]
    pains = [pain.pain_0_to_10 for pain in history.pains if lately <= pain.day <= last]
    periods = [note.day for note in history.notes if note.cycle_start and note.day <= last]
    return Habits(
        sessions_planned=planned,
        sessions_done_percent=100.0 * done / planned if planned else None,
        sessions_untold=planned - told,
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

    A whole week holds as many planned sessions as the fullest week told about; what nobody told
    about is not done. Days after the last line of the record are still open.
    """
    marks = {mark.day: mark.done for mark in history.sessions if mark.day <= last}
    if not marks:
        return 0, 0, 0
    until = min(last, last_told(history, last) or last)
    first = min(marks)
    weeks: list[list[bool]] = []
    planned_in: list[bool] = []
    for back in range(int(settings.habit_weeks)):
        end = last - dt.timedelta(days=7 * back)
        days = [end - dt.timedelta(days=number) for number in range(7)]
        weeks.append([marks[day] for day in days if day in marks])
        planned_in.append(days[-1] >= first and end <= until)
    fullest = max(map(len, weeks))
    told = sum(map(len, weeks))
    planned = sum(
        max(len(week), fullest) if whole else len(week)
        for week, whole in zip(weeks, planned_in, strict=True)
    )
    return sum(map(sum, weeks)), told, planned


def last_told(history: History, on: dt.date) -> dt.date | None:
    """Return the last day up to a day that anything was told about; None without any."""
    series = (history.weighings, history.eating, history.top_sets, history.sessions, history.notes,
              history.girths, history.pains, history.signs)  # fmt: skip
    return max((row.day for rows in series for row in rows if row.day <= on), default=None)


def _weeks_with_pain(history: History, last: dt.date, settings: Settings) -> int:
    """Return in how many of the last three weeks some pain reached the line that counts."""
    weeks = {
        (last - pain.day).days // 7
        for pain in history.pains
        if pain.day <= last and pain.pain_0_to_10 >= settings.pain_counts
    }
    return sum(1 for week in weeks if week < _PAIN_WEEKS)


def _mean(notes: Sequence[DayNote], name: str) -> float | None:
    said = [value for note in notes if (value := getattr(note, name)) is not None]
    return fmean(said) if said else None
