"""What of a plan belongs in a calendar: sessions, check-ins, block changes, the next looks.

Entries are plain shapes; `ics.py` writes them down. Nothing here but days, exercises and sets: a
calendar is copied to other people's machines, so no figure of body or food may stand in it.
"""

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from assistant.model.away import Away
from assistant.model.derivation import day_in, number_in
from assistant.model.errors import InputProblems, Problem
from assistant.model.plan import Plan
from assistant.model.programme import Line, Session
from assistant.model.values import WEEKDAYS
from assistant.model.version import Version
from assistant.plan.sentences import Narrator
from assistant.plan.special import ask_again_on
from assistant.plan.visibility import is_stopped, withheld_outputs


@dataclass(frozen=True)
class Entry:
    """One entry of a calendar.

    kind and slot name its place in the plan: together with the client they make its identity, so
    a later plan finds the entry again whatever it then says. start: local time of day, or None
    for a whole day. alarm_minutes: before the start of a session, after midnight of a whole day.
    """

    kind: str
    slot: str
    day: dt.date
    start: dt.time | None
    minutes: int
    title: str
    text: str
    alarm_minutes: int


@dataclass(frozen=True)
class Diary:
    """How the calendar is laid out: time of day of sessions and weeks to fill, None for defaults."""

    start: dt.time | None = None
    weeks: int | None = None


def calendar_entries(plan: Plan, narrator: Narrator, diary: Diary) -> tuple[Entry, ...]:
    """Return the entries in order of day; none under a stop.

    Raises InputProblems if more weeks are asked for than a calendar may hold.
    """
    if is_stopped(narrator.run):
        return ()
    book = _Words(narrator, plan.case_name)
    weeks = _weeks(plan, narrator, diary, int(book.number("longest_weeks")))
    last = narrator.on + dt.timedelta(weeks=weeks, days=-1)
    training = "exercise_any" not in withheld_outputs(narrator.run)
    sessions = plan.programme.sessions if plan.programme is not None and training else ()
    found = [
        *_sessions(sessions, book, diary, _Span.of(plan, narrator, last)),
        *_check_ins(book, last),
        *(_block_changes(plan, book, last) if sessions else ()),
        *_next_looks(plan, narrator, book),
    ]
    return tuple(sorted(found, key=lambda e: (e.day, e.start or dt.time.min, e.kind, e.slot)))


class _Words:
    """Words and numbers of rules/calendar.yaml for this reader."""

    def __init__(self, narrator: Narrator, client: str) -> None:
        self.narrator = narrator
        self.client = client
        self.document = narrator.kb.calendar

    def number(self, name: str) -> float:
        """Return a parameter of the calendar, in its own unit, on the day of the plan."""
        parameter = getattr(self.document.parameters, name)
        return float(self.narrator.kb.parameter_value(parameter, self.narrator.on).value)

    def title(self, kind: str, /, **slots: str) -> str:
        """Return the title of an entry."""
        words = getattr(self.document.titles, kind).to(self.narrator.audience)
        return self._filled(words, {"client": self.client, **slots})

    def text(self, kind: str) -> str:
        """Return the text of a whole-day entry."""
        return str(getattr(self.document.texts, kind).to(self.narrator.audience))

    def line(self, kind: str, /, **slots: str) -> str:
        """Return one line of a session's text."""
        return self._filled(getattr(self.document.lines, kind), slots)

    def whole_day(self, kind: str, slot: str, day: dt.date) -> Entry:
        """Return an entry for a whole day."""
        alarm = round(self.number("day_alarm_hour") * 60)
        return Entry(kind, slot, day, None, 0, self.title(kind), self.text(kind), alarm)

    @staticmethod
    def _filled(template: str, slots: Mapping[str, str]) -> str:
        for name, words in slots.items():
            template = template.replace(f"{{{name}}}", words)
        return template


def _weeks(plan: Plan, narrator: Narrator, diary: Diary, longest: int) -> int:
    if diary.weeks is not None:
        if not 1 <= diary.weeks <= longest:
            text = f"`{diary.weeks}` weeks; allowed: 1 to {longest} (calendar.longest_weeks)"
            raise InputProblems([Problem("--weeks", "out-of-range", text)])
        return diary.weeks
    end = None if plan.place is None else _block_end(plan, narrator.on)
    if end is not None:
        return min(longest, math.ceil(((end - narrator.on).days + 1) / 7))
    weeks = number_in(plan.facts, "block.weeks") or number_in(plan.facts, "review.weeks")
    return min(
        longest, int(weeks or narrator.kb.parameter_value("review.longest", narrator.on).value)
    )


@dataclass(frozen=True)
class _Span:
    """Until when sessions stand in the calendar, and until when their sheet is known.

    Sessions end before the day the safety questions are asked again: whoever trains on from there
    does so by answers that are no longer fresh. After the block the days stay, the sheet is new. A
    lighter week ends earlier, and the usual sheet follows. version: what the sheet stems from. away: times
    away that are not over; travels: the sheet is for one of them.
    """

    last: dt.date
    sheet_until: dt.date
    lighter_until: dt.date | None
    version: Version | None
    away: tuple[Away, ...] = ()
    travels: bool = False

    @classmethod
    def of(cls, plan: Plan, narrator: Narrator, last: dt.date) -> "_Span":
        again, place = ask_again_on(narrator), plan.place
        if again is not None:
            last = min(last, again - dt.timedelta(days=1))
        end = _block_end(plan, narrator.on) or last
        lighter = None if place is None else place.easier_until
        version = None if place is None else place.version
        away = () if place is None else place.away
        travels = any(each.covers(narrator.on) for each in away)
        return cls(last, min(last, end), lighter, version, away, travels)

    def rests_on(self, day: dt.date) -> bool:
        """Tell whether a time away without training covers a day."""
        return any(away.covers(day) and away.kind != "travel" for away in self.away)

    def text(self, day: dt.date, sheet: str, book: _Words) -> str:
        """Return what stands in a session of a day; sheet: the lines of the week that runs."""
        travels = any(away.covers(day) for away in self.away)
        if travels != self.travels:
            return book.line("travel" if travels else "usual")
        if day > self.sheet_until:
            return book.line("later")
        if self.lighter_until is not None:
            if day > self.lighter_until:
                return book.line("usual")
            until = self.lighter_until
        else:
            until = self.sheet_until
        rows = [sheet, book.line("until", until=until.isoformat())]
        if self.version is not None:
            slots = {"number": str(self.version.number), "day": self.version.on.isoformat()}
            rows.append(book.line("version", **slots))
        return "\n".join(rows)


def _block_end(plan: Plan, on: dt.date) -> dt.date | None:
    """Return the last day of the block: the one that runs, else one that begins on the day.

    Where a running block is over already, its sheet goes on for a week, until a review has met.
    """
    running = None if plan.place is None else plan.place.block_until
    if running is not None:
        return max(running, on + dt.timedelta(days=6))
    weeks = number_in(plan.facts, "block.weeks")
    return on + dt.timedelta(weeks=weeks, days=-1) if weeks else None


def _sessions(
    sessions: tuple[Session, ...], book: _Words, diary: Diary, span: _Span
) -> Iterator[Entry]:
    hour = book.number("session_hour")
    start = diary.start or dt.time(int(hour), round(hour % 1 * 60))
    alarm = round(book.number("session_alarm_minutes"))
    step = book.number("whole_minutes")
    for session in sessions:
        minutes = math.ceil(session.minutes / step) * round(step)
        title = book.title("session", type=book.narrator.phrases.label(session.type))
        sheet = "\n".join(_line(line, book) for line in session.lines)
        for day in _weekdays(session.day, book.narrator.on, span.last):
            if span.rests_on(day):
                continue
            text = span.text(day, sheet, book)
            slot = day.isoformat()
            yield Entry("session", slot, day, start, max(minutes, 1), title, text, alarm)


def _line(line: Line, book: _Words) -> str:
    reps = f"{line.low}" if line.low == line.high else f"{line.low} to {line.high}"
    text = book.line(
        line.measure, order=str(line.order), name=line.name, sets=str(line.sets), reps=reps,
        rir=str(line.rir), rest=str(line.rest_s),
    )  # fmt: skip
    if line.load_kg is not None and book.narrator.audience == "coach":
        text += "\n" + book.line("load", load=f"{line.load_kg:g}")
    return text


def _check_ins(book: _Words, last: dt.date) -> Iterator[Entry]:
    every = int(book.number("check_in_weeks"))
    # Nobody has a week to tell of on the day the plan begins.
    first = book.narrator.on + dt.timedelta(days=1)
    for day in [*_weekdays(book.document.check_in_day, first, last)][every - 1 :: every]:
        yield book.whole_day("check_in", day.isoformat(), day)


def _block_changes(plan: Plan, book: _Words, last: dt.date) -> Iterator[Entry]:
    weeks, end = number_in(plan.facts, "block.weeks"), _block_end(plan, book.narrator.on)
    if not weeks or end is None:
        return
    number, day = 1, end + dt.timedelta(days=1)
    while day <= last + dt.timedelta(days=1):
        yield book.whole_day("block", str(number), day)
        number, day = number + 1, day + dt.timedelta(weeks=weeks)


def _next_looks(plan: Plan, narrator: Narrator, book: _Words) -> Iterator[Entry]:
    review = day_in(plan.facts, "review.next_date")
    if review is not None:
        yield book.whole_day("review", "next", review)
    again = ask_again_on(narrator)
    if again is not None:
        yield book.whole_day("screen", "next", again)


def _weekdays(name: str, first: dt.date, last: dt.date) -> Iterator[dt.date]:
    day = first + dt.timedelta(days=(WEEKDAYS.index(name) - first.weekday()) % 7)
    while day <= last:
        yield day
        day += dt.timedelta(weeks=1)
