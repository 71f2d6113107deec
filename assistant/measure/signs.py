"""Signs in what a client tells that stay until something closes them: pain at a joint, low mood.

A sign is a pure function of the record. Silence never closes one, and nothing agreed does.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.measure.settings import Settings
from assistant.model.history import History, Pain, Sign


@dataclass(frozen=True)
class JointPain:
    """Pain at one joint, 0 to 10.

    now: as told last. unasked: the strongest that the questions about urgent signs have not
    followed; 0 where they were answered clear, or where weeks of little pain have passed since.
    """

    now: int
    unasked: int


@dataclass(frozen=True)
class LowMood:
    """Mood over the two weeks that end with the last note.

    stays: low on most days told, and not closed by a better note since. percent: share of those
    days that were low. days: how many days they span.
    """

    stays: bool
    percent: float
    days: int


def joint_pains(history: History, on: dt.date, settings: Settings) -> Mapping[str, JointPain]:
    """Return the pain of every joint that was told about, by joint."""
    by_joint: dict[str, list[Pain]] = {}
    for pain in history.pains:
        if pain.day <= on:
            by_joint.setdefault(pain.joint, []).append(pain)
    found = {}
    for joint, pains in sorted(by_joint.items()):
        pains.sort(key=lambda pain: pain.day)
        last_day = pains[-1].day
        found[joint] = JointPain(
            now=max(pain.pain_0_to_10 for pain in pains if pain.day == last_day),
            unasked=max(
                (p.pain_0_to_10 for p in pains if not p.asked_clear and not _past(p, pains, settings)),
                default=0,
            ),
        )  # fmt: skip
    return found


def _past(pain: Pain, pains: Sequence[Pain], settings: Settings) -> bool:
    """Tell whether only little pain was told about the joint since, for weeks."""
    later = [each for each in pains if each.day > pain.day]
    if not later or any(each.pain_0_to_10 >= settings.pain_counts for each in later):
        return False
    return (later[-1].day - pain.day).days >= settings.note_days


def low_mood(history: History, on: dt.date, settings: Settings) -> LowMood | None:
    """Return how mood stands over two weeks of notes; None where none was told.

    It counts as low from the note on with which more than the given share of days was low, over
    enough days. A low note never closes it; a better one does once the share is no longer reached.
    """
    told = [
        (note.day, note.mood_1_to_5 <= settings.low_mood)
        for note in history.notes
        if note.mood_1_to_5 is not None and note.day <= on
    ]
    stays, percent, days = False, 0.0, 0
    for index, (_, is_low) in enumerate(told):
        percent, days = _two_weeks(told[: index + 1], settings)
        if percent > settings.low_mood_percent and days >= settings.low_mood_days:
            stays = True
        elif not is_low and percent <= settings.low_mood_percent:
            stays = False
    return LowMood(stays, percent, days) if told else None


def _two_weeks(told: Sequence[tuple[dt.date, bool]], settings: Settings) -> tuple[float, int]:
    """Return the share of low days, %, and the days spanned, of the notes that end with the last.

    Who tells seldom is read back to the note before, however long ago that was.
    """
    last = told[-1][0]
    since = last - dt.timedelta(days=int(settings.note_days) - 1)
    notes = [row for row in told if row[0] >= since]
    if (last - notes[0][0]).days + 1 < settings.low_mood_days and len(notes) < len(told):
        notes = list(told[-len(notes) - 1 :])
    low = sum(is_low for _, is_low in notes)
    return 100.0 * low / len(notes), (last - notes[0][0]).days + 1


def signs_felt(history: History, on: dt.date) -> tuple[Sign, ...]:
    """Return the signs that were felt when last told about, in order of name."""
    last: dict[Sign, tuple[dt.date, bool]] = {}
    for mark in history.signs:
        before = last.get(mark.sign)
        if mark.day > on or (before is not None and before[0] > mark.day):
            continue
        same_day = before is not None and before[0] == mark.day and before[1]
        last[mark.sign] = (mark.day, mark.felt or same_day)
    return tuple(sorted(sign for sign, (_, felt) in last.items() if felt))
