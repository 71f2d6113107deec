"""Lines that say a thing twice, or that are allowed but look wrong. Asked about, never dropped."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from assistant.intake.checkin.book import CheckinBook
from assistant.intake.checkin.written import sets_in_words
from assistant.model.entries import Entry, Spot
from assistant.model.values import Value

_PER_CENT = 100.0
_BOTH = "{line}, and {other}: is that right?"


@dataclass(frozen=True)
class Compared:
    """One new line beside what the record holds.

    before: what stands for the same spot already, if anything. question: why it looks wrong, or "".
    """

    entry: Entry
    before: Entry | None = None
    question: str = ""

    @property
    def is_same(self) -> bool:
        """The record says this already."""
        return self.before is not None and self.before == self.entry

    @property
    def differs(self) -> bool:
        """The record says something else for the same spot."""
        return self.before is not None and self.before != self.entry


def compare(
    entries: Iterable[Entry],
    known: Mapping[Spot, Entry],
    answers: Mapping[str, Value],
    book: CheckinBook,
    today: dt.date,
) -> list[Compared]:
    """Set new lines beside what stands, beside each other, and beside what was answered."""
    near: dict[tuple[str, str], list[Entry]] = {}
    for entry in known.values():
        near.setdefault((entry.measure, entry.detail), []).append(entry)
    found = []
    for entry in entries:
        others = near.setdefault((entry.measure, entry.detail), [])
        question = _question(entry, others, book, today) or _gross(entry, answers, book)
        found.append(Compared(entry, known.get(entry.spot), question))
        if not question:
            others.append(entry)
    return found


def in_words(entry: Entry, book: CheckinBook) -> str:
    """Return a line as a person reads it: `body weight 63.4 on 2026-01-05`."""
    words, say, day = book.words(entry.measure), book.speech.say, entry.day.isoformat()
    label = book.label(entry.measure, entry.detail)
    if entry.measure == "session":
        done = "session on {day} done" if entry.value else "session on {day} missed"
        return say(done, day=day)
    if entry.measure == "cycle_start":
        return say("a period began on {day}", day=day)
    if entry.measure in {"sign", "referral"}:
        said = say({0.0: "no", 1.0: "yes"}.get(entry.value or 0.0, "not yet"))
        return say("{measure}: {value} on {day}", measure=label, value=said, day=day)
    units = {"mass": " kg", "length": " cm", "energy": " kcal", "duration_h": " h"}
    unit = units.get(words.quantity or "", f" {words.unit}".rstrip())
    value = f"{book.speech.number(f'{entry.value or 0.0:.5g}')}{unit}"
    if entry.measure == "top_set":
        value = sets_in_words(entry, book.speech)
    return say("{measure} {value} on {day}", measure=label, value=value, day=day)


def _question(entry: Entry, others: list[Entry], book: CheckinBook, today: dt.date) -> str:
    numbers, say = book.numbers, book.speech.say
    told = in_words(entry, book)
    if (today - entry.day).days > numbers["days_back"]:
        back = (today - entry.day).days
        return say("{line} is {count} days back: is the year right?", line=told, count=back)
    if entry.measure == "weight_kg":
        return _jump(
            entry, others, numbers["weight_jump_days"], numbers["weight_jump_percent"], book
        )
    if entry.measure == "top_set":
        return _jump(entry, others, numbers["days_back"], numbers["top_set_jump_percent"], book)
    if entry.measure == "girth_cm":
        near = _nearest(entry, others, numbers["girth_jump_days"])
        if near is not None:
            gap = abs((entry.value or 0.0) - (near.value or 0.0))
            if gap > numbers["girth_jump_cm"]:
                return say(_BOTH, line=told, other=in_words(near, book))
    return ""


def _gross(entry: Entry, answers: Mapping[str, Value], book: CheckinBook) -> str:
    """Ask about a weight or girth so far from what was answered that the unit may be another."""
    fact = {"weight_kg": "client.weight_kg", "girth_cm": f"client.{entry.detail}_cm"}
    answered = answers.get(fact.get(entry.measure, ""))
    if not isinstance(answered, int | float) or isinstance(answered, bool) or not entry.value:
        return ""
    change = abs(entry.value - answered) / answered * _PER_CENT
    if change <= book.numbers["gross_percent"]:
        return ""
    unit = "kg" if entry.measure == "weight_kg" else "cm"
    return book.speech.say(
        "{line}, and {number} {unit} was answered: is the unit right?",
        line=in_words(entry, book),
        number=float(f"{answered:.4g}"),
        unit=unit,
    )


def _jump(entry: Entry, others: list[Entry], days: float, percent: float, book: CheckinBook) -> str:
    near = _nearest(entry, others, days)
    if near is None or not near.value:
        return ""
    change = ((entry.value or 0.0) - near.value) / near.value * _PER_CENT
    if abs(change) <= percent:
        return ""
    if entry.measure == "top_set" and -book.numbers["top_set_drop_percent"] <= change < 0:
        return ""  # a light day is nothing to ask about; `3 x 10` typed for sets and repetitions is
    return book.speech.say(_BOTH, line=in_words(entry, book), other=in_words(near, book))


def _nearest(entry: Entry, others: list[Entry], days: float) -> Entry | None:
    """Return the line nearest in time, but not of the same day, within so many days."""
    near = [
        other
        for other in others
        if other.day != entry.day and abs((other.day - entry.day).days) <= days
    ]
    return min(near, key=lambda other: abs((other.day - entry.day).days), default=None)
