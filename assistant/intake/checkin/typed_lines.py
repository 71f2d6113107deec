"""Lines of a check-in as a person types them: `63.4, mon 63.2`, `squat 80 x 8 @2`, `knee 3`.

Every reader returns entries or raises Refusal with one line. `written.written` turns entries back
into text that the same reader reads.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from assistant.intake.checkin.book import CheckinBook
from assistant.intake.checkin.lift_sets import (
    SETS_EXAMPLE,
    day_of_sets,
    name_and_sets,
    read_sets,
    with_bare_repetitions,
)
from assistant.intake.quantities import (
    Refusal,
    UnitSystem,
    iso_day,
    parse_measure,
    plain_name,
    range_in_words,
    range_of_numbers,
    read_number,
    tidy,
)
from assistant.intake.speech import Sentence, Speech
from assistant.knowledge.nearest import closest
from assistant.model.documents.checkin import Reads
from assistant.model.entries import Entry, Measure
from assistant.model.history import LiftSet

_NOTHING = frozenset({"none", "no", "nothing", "n", "0"})
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORTEST = 3


@dataclass(frozen=True)
class Situation:
    """What a typed line is read against.

    planned: days of planned sessions not yet told about. sore: joints that hurt when last told.
    """

    book: CheckinBook
    today: dt.date
    planned: tuple[dt.date, ...] = ()
    sore: tuple[str, ...] = ()


def read_lines(
    reads: Reads, text: str, situation: Situation, system: UnitSystem
) -> tuple[Entry, ...]:
    """Return the entries of a typed line. Raises Refusal."""
    return tuple(_each_once(_READERS[reads](text, situation, system)))


def _parts(text: str) -> list[str]:
    """Split at commas that are followed by a space, and at semicolons; `63,4` stays whole."""
    return [part.strip() for part in re.split(r";|,(?=\s)|\n", text) if part.strip()]


def day_and_rest(part: str, today: dt.date, speech: Speech) -> tuple[dt.date, str]:
    """Take the day off the front of a part; without one it is today.

    A weekday is the last such day up to today, at most six days back.
    """
    word, _, rest = part.strip().partition(" ")
    plain = speech.meant(tidy(word).rstrip(".:"))
    if (day := iso_day(plain)) is not None:
        if day > today:
            told = "`{day}` is after today, {today}; check it"
            raise Refusal(told, day=plain, today=today.isoformat())
        return day, rest.strip()
    if plain in {"today", "yesterday"}:
        return today - dt.timedelta(days=int(plain == "yesterday")), rest.strip()
    for number, name in enumerate(_WEEKDAYS):
        if (
            len(plain) >= _SHORTEST and name.startswith(plain)
        ) or plain == "weds" == f"{name[:3]}s":
            back = (today.weekday() - number) % len(_WEEKDAYS)
            return today - dt.timedelta(days=back), rest.strip()
    if re.fullmatch(r"[0-9]{1,2}[./-][0-9]{1,2}([./-][0-9]{2,4})?", plain) and rest.strip():
        told = "`{typed}` can be read in two ways; write the day like {today}"
        raise Refusal(told, typed=word, today=today.isoformat())
    return today, part.strip()


def measured(
    text: str, measure: Measure, detail: str, book: CheckinBook, system: UnitSystem
) -> float:
    """Return a measure with its unit understood, within its range. Raises Refusal."""
    words = book.words(measure)
    low, high = book.range_of(measure, detail)
    if words.quantity:
        value = parse_measure(text, words.quantity, system)
        allowed = range_in_words(low, high, words.quantity, system)
    else:
        plain = tidy(text).removesuffix(words.unit).strip() if words.unit else tidy(text)
        value = float(read_number(plain))
        allowed = range_of_numbers(low, high, words.unit)
    label = book.label(measure, detail)
    if not low <= value <= high:
        told = "{measure}: `{typed}` is not possible; allowed: {allowed}"
        raise Refusal(told, measure=label, typed=text.strip(), allowed=allowed)
    if words.whole and not value.is_integer():
        told = "{measure}: `{typed}` is not a whole number"
        raise Refusal(told, measure=label, typed=text.strip())
    return value


def _dated(text: str, situation: Situation) -> Iterator[tuple[str, dt.date, str]]:
    """Yield each part of a line, its day, and what it says beside the day."""
    for part in _some_parts(text):
        yield (part, *day_and_rest(part, situation.today, situation.book.speech))


def _weights(text: str, situation: Situation, system: UnitSystem) -> Iterator[Entry]:
    for _, day, rest in _dated(text, situation):
        yield Entry("weight_kg", day, measured(rest, "weight_kg", "", situation.book, system))


def _girths(text: str, situation: Situation, system: UnitSystem) -> Iterator[Entry]:
    for _, day, rest in _dated(text, situation):
        name, number = _name_and_number(rest, Sentence("waist 72"))
        site = named(name, "girth_cm", situation.book, Sentence("a site"))
        value = measured(number, "girth_cm", site, situation.book, system)
        yield Entry("girth_cm", day, value, site)


def _eating(text: str, situation: Situation, system: UnitSystem) -> Iterator[Entry]:
    for _, day, rest in _dated(text, situation):
        energy, _, protein = rest.partition("/")
        value = measured(energy, "energy_kcal", "", situation.book, system)
        yield Entry("energy_kcal", day, value)
        if protein.strip():
            value = measured(protein, "protein_g", "", situation.book, system)
            yield Entry("protein_g", day, value)


def _sleep(text: str, situation: Situation, system: UnitSystem) -> Iterator[Entry]:
    value = measured(text, "sleep_hours", "", situation.book, system)
    yield Entry("sleep_hours", situation.today, value)


def _days(text: str, situation: Situation, _: UnitSystem) -> Iterator[Entry]:
    nothing = situation.book.speech.meant(tidy(text)) in _NOTHING
    for part, day, rest in () if nothing else _dated(text, situation):
        if rest:
            told = "`{typed}` is not a day; write it like wed or 2026-01-07, or none"
            raise Refusal(told, typed=part)
        yield Entry("cycle_start", day, 1.0)


def _pains(text: str, situation: Situation, _: UnitSystem) -> list[Entry]:
    """Pains now; a joint that hurt before and is not named has stopped hurting."""
    found = read_pains(text, situation.today, situation.book)
    named = {entry.detail for entry in found}
    gone = (joint for joint in situation.sore if joint not in named)
    return [*found, *(Entry("pain", situation.today, 0.0, joint) for joint in gone)]


def read_pains(text: str, day: dt.date, book: CheckinBook) -> list[Entry]:
    """Return pains such as `knee 3, shoulder 2`; `none` is no pain anywhere. Raises Refusal."""
    if book.speech.meant(tidy(text)) in _NOTHING:
        return []
    found = []
    for part in _some_parts(text):
        name, number = _name_and_number(part, Sentence("knee 3"))
        joint = named(name, "pain", book, Sentence("a joint"))
        value = measured(number.removesuffix("/10"), "pain", joint, book, UnitSystem.METRIC)
        found.append(Entry("pain", day, value, joint))
    return _each_once(found)


def _top_sets(text: str, situation: Situation, system: UnitSystem) -> Iterator[Entry]:
    """Sets of lifts; sets of one lift on one day belong together, wherever they stand in the line."""
    book = situation.book
    told: dict[tuple[dt.date, str], list[LiftSet]] = {}
    for part in with_bare_repetitions(_some_parts(text)):
        day, rest = day_and_rest(part, situation.today, book.speech)
        name, sets = name_and_sets(rest)
        if not name:
            how = "`{typed}` is not understood; write it like {example}"
            raise Refusal(how, typed=part, example=SETS_EXAMPLE)
        exercise = book.exercise(name)
        if exercise is None:
            unknown = book.no_such_exercise(name)
            raise Refusal(unknown.template, **unknown.values)

        def load(typed: str, lift: str = exercise) -> float:
            return measured(typed, "top_set", lift, book, system)

        told.setdefault((day, exercise), []).extend(read_sets(sets, load, book.document))
    for (day, exercise), done in told.items():
        yield day_of_sets(day, exercise, done)


def _sessions(text: str, situation: Situation, _: UnitSystem) -> list[Entry]:
    """Days that took place; the other planned days count as missed."""
    speech = situation.book.speech
    plain = speech.meant(tidy(text))
    if plain in {"all", "yes", "every one"}:
        done = set(situation.planned)
    elif plain in _NOTHING:
        done = set()
    else:
        done = set()
        for part in _some_parts(re.sub(r"(?<=[a-z]) (?=[a-z])", ", ", plain)):
            day, rest = day_and_rest(part, situation.today, speech)
            if rest:
                told = "`{typed}` is not a day; write all, none, or days like mon, wed"
                raise Refusal(told, typed=part)
            done.add(day)
    # The day is not over yet: what is planned for it is done or still open, never missed.
    missed = [day for day in situation.planned if day < situation.today]
    marks = dict.fromkeys(missed, 0.0) | dict.fromkeys(done, 1.0)
    return [Entry("session", day, value) for day, value in sorted(marks.items())]


def _some_parts(text: str) -> list[str]:
    parts = _parts(text)
    if not parts:
        raise Refusal("nothing was typed; skip leaves the question out")
    return parts


def _name_and_number(part: str, example: Sentence) -> tuple[str, str]:
    match = re.fullmatch(r"(?P<name>[^\d]+?)[ :]+(?P<number>\d.*)", part.strip())
    if match is None:
        told = "`{typed}` is not understood; write it like {example}"
        raise Refusal(told, typed=part, example=example)
    return match["name"], match["number"]


def named(typed: str, measure: Measure, book: CheckinBook, what: Sentence) -> str:
    """Return the site, joint or role that is meant. Raises Refusal with the nearest name."""
    details = book.words(measure).details
    known = {
        plain_name(name): detail
        for detail, words in details.items()
        for name in (detail, book.speech.name(detail), *words.columns)
    }
    wanted = plain_name(book.speech.meant(plain_name(typed)))
    if wanted in known:
        return known[wanted]
    if near := closest(wanted, known):
        told = "`{typed}` is not {what} here; did you mean `{near}`?"
        raise Refusal(told, typed=typed.strip(), what=what, near=near[0])
    listed = ", ".join(book.speech.name(name) for name in details)
    told = "`{typed}` is not {what} here; allowed: {names}"
    raise Refusal(told, typed=typed.strip(), what=what, names=listed)


def _each_once(entries: Iterable[Entry]) -> list[Entry]:
    said: dict[object, Entry] = {}
    for entry in entries:
        before = said.get(entry.spot)
        if before is not None and before != entry:
            raise Refusal(
                "{day} stands twice with {first} and {second}; write one of them",
                day=entry.day.isoformat(),
                first=round(before.value or 0.0, 1),
                second=round(entry.value or 0.0, 1),
            )
        said[entry.spot] = entry
    return list(said.values())


_READERS: dict[Reads, Callable[[str, Situation, UnitSystem], Iterable[Entry]]] = {
    "weights": _weights,
    "girths": _girths,
    "eating": _eating,
    "sleep": _sleep,
    "days": _days,
    "pains": _pains,
    "top_sets": _top_sets,
    "sessions": _sessions,
}
