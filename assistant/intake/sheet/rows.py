"""One row of a record as entries, each in the unit of the record; a cell that is no such thing is told."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from typing import Literal, TypeVar

from assistant.intake.checkin.book import CheckinBook
from assistant.intake.checkin.lift_sets import day_of_sets, read_sets
from assistant.intake.checkin.typed_lines import measured, named, read_pains
from assistant.intake.quantities import (
    Refusal,
    UnitSystem,
    number_in_words,
    parse_measure,
    plain_name,
)
from assistant.intake.sheet.columns import Column
from assistant.intake.sheet.numbers import Mark, read_cell
from assistant.intake.sheet.table import Row
from assistant.intake.speech import Sentence
from assistant.model.documents.checkin import Range
from assistant.model.entries import Entry
from assistant.model.errors import Problem, Refused
from assistant.model.history import Agreement, LiftSet

_EMPTY = frozenset({"", "-", "--", "n/a", "na", "none", "."})
_MARKS = ("block_started", "sets_changed", "easier_week", "log_mended")
_PHASES: Mapping[str, Literal["hold", "build", "cut"]] = {
    "hold": "hold", "build": "build", "cut": "cut"
}  # fmt: skip
Said = TypeVar("Said")


@dataclass(frozen=True)
class FoundLine:
    """An entry and where it stood, e.g. `march.csv:7`. set_number: of a row that is one set of several."""

    place: str
    entry: Entry
    set_number: int | None = None


@dataclass
class SheetRead:
    """All lines that could be read, all that could not, and how the file was read.

    No check-in takes in the last three. agreed: what coach and client agreed. sent: whom the client
    was asked to see, without an answer. urgent: days on which the questions about urgent signs were
    asked, and whether all were clear.
    """

    found: list[FoundLine] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    agreed: list[Agreement] = field(default_factory=list)
    sent: list[tuple[dt.date, str]] = field(default_factory=list)
    urgent: list[tuple[dt.date, bool]] = field(default_factory=list)


def cell_of(row: Row, column: Column) -> str:
    """Return what stands in a column of a row, empty for a cell that says nothing."""
    text = row.cells[column.index].strip() if column.index < len(row.cells) else ""
    return "" if text.lower() in _EMPTY else text


class RowReader:
    """Reads rows one by one, and cells one by one."""

    def __init__(
        self,
        book: CheckinBook,
        columns: list[Column],
        mark: Mark | None,
        out: SheetRead,
        system: UnitSystem = UnitSystem.METRIC,
    ) -> None:
        """Read rows with these columns; what is found, and what is wrong, goes to `out`.

        system: of loads without a unit in a cell that holds whole sets.
        """
        self._system = system
        self._book, self._columns, self._mark, self.out = book, columns, mark, out
        self._by_role = {column.role: column for column in columns}
        self._has_loads = any(column.measure == "top_set" for column in columns)

    def read(self, row: Row, day: dt.date, file: str) -> None:
        """Keep what a row says; a cell that is refused leaves the others of its row."""
        readings = [
            (column.index, partial(self._entries, row, day, column)) for column in self._columns
        ]
        for index, reading in (*readings, (None, partial(self._agreement, row, day))):
            place = row.place(file, index)
            try:
                for entry in reading():
                    number = self._set_number(row) if entry.measure == "top_set" else None
                    self.out.found.append(FoundLine(place, entry, number))
            except Refused as refused:
                self.out.problems.append(refused.at(place))

    def _entries(self, row: Row, day: dt.date, column: Column) -> Iterator[Entry]:
        text = cell_of(row, column)
        if column.measure == "top_set":
            yield from self._top_set(row, day, column)
        elif column.role == "sets":
            yield from self._sets(row, day, text)
        elif column.role == "joint":
            yield from self._pain(text, self._of(row, "pain_at_joint"), day)
        elif column.role == "referral":
            yield from self._referral(text, self._of(row, "seen"), day)
        elif text and column.role == "pain_words":
            with _typed("bad-pain"):
                yield from read_pains(text, day, self._book)
        elif text and column.role == "urgent_signs_asked":
            self.out.urgent.append((day, self._word(column, text, {"clear": True, "open": False})))
        elif text and column.role == "measure":
            try:
                value = self._value(text, column)
            except Refused as refused:
                raise Refused(refused.code, f"{column.header}: {refused.text}") from None
            if column.measure != "cycle_start" or value > 0:
                yield Entry(column.measure, day, value, column.detail)

    def _of(self, row: Row, role: str) -> str:
        column = self._by_role.get(role)
        return "" if column is None else cell_of(row, column)

    def _pain(self, joint: str, pain: str, day: dt.date) -> list[Entry]:
        if bool(joint) != bool(pain):
            raise Refused("half-a-pain", "a pain needs joint and pain 0 to 10")
        if not joint:
            return []
        words = self._book.words("pain")
        with _typed("bad-pain"):
            where = named(joint, "pain", self._book, Sentence("a joint"))
        return [Entry("pain", day, self._plain(pain, joint, words.range, whole=True), where)]

    def _referral(self, role: str, seen: str, day: dt.date) -> list[Entry]:
        if seen and not role:
            raise Refused("half-a-referral", "`seen` needs the role that was to look beside it")
        if not role:
            return []
        words = self._book.words("referral")
        with _typed("unknown-role"):
            who = named(role, "referral", self._book, Sentence("a role"))
        if not seen:
            self.out.sent.append((day, who))
            return []
        return [Entry("referral", day, self._word(self._by_role["seen"], seen, words.words), who)]

    def _agreement(self, row: Row, day: dt.date) -> Iterator[Entry]:
        """Keep what was agreed on a day; there is no entry in it."""
        yield from ()
        food, phase = self._of(row, "agreed_kcal"), self._of(row, "agreed_phase")
        yes_no = self._book.words("cycle_start").words
        marks = [
            bool(text) and self._word(self._by_role[role], text, yes_no) > 0
            for role, text in ((role, self._of(row, role)) for role in _MARKS)
        ]
        if food or phase or any(marks):
            allowed = self._book.document.agreed_kcal
            moved = self._word(self._by_role["agreed_phase"], phase, _PHASES) if phase else None
            started, changed, easier, mended = marks
            agreed = Agreement(
                day,
                self._plain(food, "agreed kcal", allowed, whole=False) if food else None,
                moved,
                started,
                changed,
                easier,
                mended,
                holds=moved == "hold",
            )
            self.out.agreed.append(agreed)

    def _word(self, column: Column, text: str, allowed: Mapping[str, Said]) -> Said:
        if plain_name(text) not in allowed:
            told = f"{column.header}: `{text}` is not allowed; allowed: {', '.join(allowed)}"
            raise Refused("bad-value", told)
        return allowed[plain_name(text)]

    def _top_set(self, row: Row, day: dt.date, load_column: Column) -> list[Entry]:
        exercise, load_text = self._of(row, "exercise"), cell_of(row, load_column)
        repetitions, reserve = self._of(row, "repetitions"), self._of(row, "reserve")
        sets = self._of(row, "sets")
        if not (load_text or repetitions or reserve) and (not exercise or sets):
            return []
        if not (exercise and load_text and repetitions):
            raise Refused("half-a-set", "a top set needs exercise, load and reps")
        known = self._exercise(exercise)
        book = self._book.document
        try:
            load = self._value(load_text, load_column)
            counts = [
                self._plain(each, "repetitions", book.repetitions, whole=True)
                for each in _counts(repetitions)
            ]
            times = self._plain(sets or "1", "sets", book.set_number, whole=True)
            left = (
                self._plain(reserve, "reps in reserve", book.reserve, whole=False)
                if reserve
                else None
            )
        except Refused as refused:
            raise Refused(refused.code, f"{exercise}: {refused.text}") from None
        if len(counts) == 1:  # so many sets, all alike
            counts *= int(times)
        elif sets and len(counts) != times:
            told = f"`{repetitions}` are not the repetitions of {sets} sets; mend one of them"
            raise Refused("bad-set", told)
        return [day_of_sets(day, known, (LiftSet(load, int(count), left) for count in counts))]

    def _sets(self, row: Row, day: dt.date, text: str) -> list[Entry]:
        """Read a cell that holds all sets of a lift."""
        exercise = self._of(row, "exercise")
        if not text or (text.isdigit() and self._has_loads):
            return []
        if not exercise:
            raise Refused("half-a-set", "sets need the exercise beside them")
        known = self._exercise(exercise)
        with _typed("bad-set"):
            sets = list(read_sets(text, partial(self._typed_load, known), self._book.document))
        return [day_of_sets(day, known, sets)]

    def _typed_load(self, exercise: str, text: str) -> float:
        return measured(text, "top_set", exercise, self._book, self._system)

    def _exercise(self, name: str) -> str:
        known = self._book.exercise(name)
        if known is None:
            raise Refused("unknown-exercise", str(self._book.no_such_exercise(name)))
        return known

    def _set_number(self, row: Row) -> int | None:
        text = self._of(row, "set_number")
        if not text:
            return None
        return int(self._plain(text, "set", self._book.document.set_number, whole=True))

    def _value(self, text: str, column: Column) -> float:
        words = self._book.words(column.measure)
        if plain_name(text) in words.words:
            return words.words[plain_name(text)]
        low, high = self._book.range_of(column.measure, column.detail)
        factor = column.to_si(1.0)
        value = self._number(text, column, (low / factor, high / factor))
        ends = f"{number_in_words(low / factor)} to {number_in_words(high / factor)}"
        if not low <= value <= high:
            unit = column.unit or words.unit
            told = f"{number_in_words(value / factor, 2)} is not possible; allowed: {ends} {unit}"
            raise Refused("impossible", f"{told.rstrip()}; correct the cell")
        if (words.whole or words.words) and not value.is_integer():
            raise Refused("not-whole", f"`{text}` is not a whole number; allowed: {ends}")
        return value

    def _number(self, text: str, column: Column, allowed: Range) -> float:
        """Return the number of a cell in the unit of the record. allowed: in that of the column."""
        words = self._book.words(column.measure)
        if words.quantity and any(each.isalpha() or each == ":" for each in text):
            with _typed("bad-number"):
                return parse_measure(text, words.quantity, UnitSystem.METRIC)
        try:
            return column.to_si(read_cell(text, self._mark, *allowed))
        except Refused as refused:
            also = f", or {', '.join(words.words)}" if words.words else ""
            raise Refused(refused.code, f"{refused.text}{also}") from None

    def _plain(self, text: str, label: str, allowed: Range, *, whole: bool) -> float:
        low, high = allowed
        try:
            value = read_cell(text, self._mark, low, high)
        except Refused as refused:
            raise Refused(refused.code, f"{label}: {refused.text}") from None
        if not low <= value <= high or (whole and not value.is_integer()):
            kind = "a whole number" if whole else "a number"
            told = f"{label}: {value:g}; allowed: {kind} from {low:g} to {high:g}"
            raise Refused("impossible", told)
        return value


def _counts(text: str) -> list[str]:
    """Return the repetitions of each set of a cell such as `10,10,9` or `10/10/9`; of one set otherwise."""
    several = re.fullmatch(r"\d{1,2}(?:\s*[,/;]\s*\d{1,2})+", text)
    return re.split(r"\s*[,/;]\s*", text) if several else [text]


@contextmanager
def _typed(code: str) -> Iterator[None]:
    """Give a code to what the readers of typed text refuse."""
    try:
        yield
    except Refusal as refusal:
        raise Refused(code, str(refusal)) from None
