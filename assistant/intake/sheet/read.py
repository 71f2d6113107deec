"""A spreadsheet's file as lines of a check-in. What cannot be read is explained, line by line."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.intake.checkin.book import CheckinBook, plain_name
from assistant.intake.checkin.typed_lines import read_pains
from assistant.intake.quantities import Refusal, UnitSystem, number_in_words, parse_measure
from assistant.intake.sheet.columns import Column, is_known, read_header
from assistant.intake.sheet.dates import Order, read_days
from assistant.intake.sheet.decode import Row, Sheet, read_sheet
from assistant.intake.sheet.numbers import Mark, mark_of, read_cell
from assistant.model.documents.checkin import MeasureWords
from assistant.model.entries import Entry
from assistant.model.errors import InputProblems, Problem

_EMPTY = frozenset({"", "-", "--", "n/a", "na", "none", "."})


@dataclass(frozen=True)
class FoundLine:
    """An entry and where it stood, e.g. `march.csv:7`."""

    place: str
    entry: Entry


@dataclass(frozen=True)
class SheetRead:
    """All lines that could be read, all that could not, and how the file was read."""

    found: tuple[FoundLine, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def read_checkin_sheet(
    path: Path,
    book: CheckinBook,
    today: dt.date,
    system: UnitSystem = UnitSystem.METRIC,
    order: Order | None = None,
) -> SheetRead:
    """Read a file. Raises InputProblems for one that is no table, or whose header is wrong."""
    sheet = read_sheet(path, lambda cell: is_known(cell, book))
    columns, unknown, problems = read_header(sheet.header, book, system, str(path))
    if problems:
        raise InputProblems(problems)
    notes = [*sheet.notes, *_left_out(sheet, unknown)]
    rows, wrong = _whole_rows(sheet, str(path))
    days_column = next(column for column in columns if column.role == "date")
    dated = [row for row in rows if _cell(row, days_column) not in _EMPTY]
    wrong += [
        Problem(f"{path}:{row.line}", "no-date", "this line has values but no day; add the day")
        for row in rows
        if row not in dated
    ]
    cells = [_cell(row, days_column) for row in dated]
    days, how = read_days(cells, today, order)
    reader = _Reader(book, columns, _mark(dated, columns), str(path))
    for row, day in zip(dated, days, strict=True):
        if day.day is None:
            code, text = day.problem or ("bad-date", "")
            wrong.append(Problem(f"{path}:{row.line}", code, text))
        else:
            reader.read(row, day.day)
    found = reader.found
    return SheetRead(tuple(found), _in_order([*wrong, *reader.problems]), (*notes, *how))


def _in_order(problems: list[Problem]) -> tuple[Problem, ...]:
    return tuple(sorted(problems, key=lambda p: int(p.place.rpartition(":")[2])))


def _left_out(sheet: Sheet, unknown: list[int]) -> list[str]:
    notes = []
    for index in unknown:
        filled = sum(1 for row in sheet.rows if index < len(row.cells) and row.cells[index].strip())
        name = sheet.header.cells[index].strip()
        if filled:
            shown = f"`{name}`" if name else f"number {index + 1}, which has no name,"
            cells = "1 cell" if filled == 1 else f"{filled} cells"
            notes.append(f"the column {shown} is not read ({cells})")
    return notes


def _whole_rows(sheet: Sheet, place: str) -> tuple[list[Row], list[Problem]]:
    rows, problems = [], []
    width = len(sheet.header.cells)
    for row in sheet.rows:
        if not any(cell.strip() for cell in row.cells):
            continue
        if any(cell.strip() for cell in row.cells[width:]):
            text = (
                f"{len(row.cells)} cells where the header has {width}; a decimal comma needs "
                "semicolons between the cells, or quotation marks"
            )
            problems.append(Problem(f"{place}:{row.line}", "too-many-cells", text))
        else:
            rows.append(row)
    return rows, problems


def _mark(rows: list[Row], columns: list[Column]) -> Mark | None:
    numeric = [column for column in columns if column.role == "measure"]
    return mark_of(_cell(row, column) for row in rows for column in numeric)


def _cell(row: Row, column: Column) -> str:
    text = row.cells[column.index].strip() if column.index < len(row.cells) else ""
    return "" if text.lower() in _EMPTY else text


class _Reader:
    def __init__(
        self, book: CheckinBook, columns: list[Column], mark: Mark | None, place: str
    ) -> None:
        self._book, self._columns, self._mark, self._place = book, columns, mark, place
        self.found: list[FoundLine] = []
        self.problems: list[Problem] = []

    def read(self, row: Row, day: dt.date) -> None:
        place = f"{self._place}:{row.line}"
        for entry in self._entries(row, day, place):
            if isinstance(entry, Problem):
                self.problems.append(entry)
            else:
                self.found.append(FoundLine(place, entry))

    def _entries(self, row: Row, day: dt.date, place: str) -> Iterator[Entry | Problem]:
        for column in self._columns:
            text = _cell(row, column)
            if column.role == "pain_words" and text:
                yield from self._pains(text, day, place)
            elif column.role == "measure" and column.measure == "top_set":
                yield from self._top_set(row, day, place, column)
            elif column.role == "measure" and text:
                value = self._value(text, column)
                if isinstance(value, tuple):
                    yield Problem(place, value[0], f"{column.header}: {value[1]}")
                elif column.measure != "cycle_start" or value > 0:
                    yield Entry(column.measure, day, value, column.detail)

    def _pains(self, text: str, day: dt.date, place: str) -> Iterator[Entry | Problem]:
        try:
            yield from read_pains(text, day, self._book)
        except Refusal as refusal:
            yield Problem(place, "bad-pain", str(refusal))

    def _top_set(
        self, row: Row, day: dt.date, place: str, load_column: Column
    ) -> Iterator[Entry | Problem]:
        by_role = {column.role: _cell(row, column) for column in self._columns}
        exercise, repetitions = by_role["exercise"], by_role["repetitions"]
        load_text, reserve_text = _cell(row, load_column), by_role.get("reserve", "")
        if not (exercise or load_text or repetitions):
            return
        if not (exercise and load_text and repetitions):
            yield Problem(place, "half-a-set", "a top set needs exercise, load and reps")
            return
        known = self._book.exercise(exercise)
        if known is None:
            hint = self._book.nearest_exercise(exercise)
            yield Problem(place, "unknown-exercise", f"`{exercise}` is not in the book{hint}")
            return
        load = self._value(load_text, load_column)
        low, high = self._book.document.repetitions
        count = self._plain(repetitions, "repetitions", (low, high), whole=True)
        reserve = (
            self._plain(reserve_text, "reps in reserve", self._book.document.reserve, whole=False)
            if reserve_text
            else None
        )
        for value in (load, count, reserve):
            if isinstance(value, tuple):
                yield Problem(place, value[0], f"{exercise}: {value[1]}")
                return
        assert isinstance(load, float)
        assert isinstance(count, float)
        assert not isinstance(reserve, tuple)
        yield Entry("top_set", day, load, known, int(count), reserve)

    def _value(self, text: str, column: Column) -> float | tuple[str, str]:
        words = self._book.words(column.measure)
        if plain_name(text) in words.words:
            return words.words[plain_name(text)]
        value = self._number(text, column, words)
        if isinstance(value, tuple):
            return value
        low, high = self._book.range_of(column.measure, column.detail)
        factor = column.to_si(1.0)
        ends = f"{number_in_words(low / factor)} to {number_in_words(high / factor)}"
        if not low <= value <= high:
            unit = column.unit or words.unit
            told = f"{number_in_words(value / factor, 2)} is not possible; allowed: {ends} {unit}"
            return "impossible", f"{told.rstrip()}; correct the cell"
        if (words.whole or words.words) and not value.is_integer():
            return "not-whole", f"`{text}` is not a whole number; allowed: {ends}"
        return value

    def _number(self, text: str, column: Column, words: MeasureWords) -> float | tuple[str, str]:
        """Return the number of a cell in the unit of the record, or what is wrong with it."""
        low, high = self._book.range_of(column.measure, column.detail)
        factor = column.to_si(1.0)
        if words.quantity and any(each.isalpha() or each == ":" for each in text):
            try:
                return parse_measure(text, words.quantity, UnitSystem.METRIC)
            except Refusal as refusal:
                return "bad-number", str(refusal)
        number = read_cell(text, self._mark, low / factor, high / factor)
        if not isinstance(number, tuple):
            return column.to_si(number)
        code, told = number
        return code, f"{told}, or {', '.join(words.words)}" if words.words else told

    def _plain(
        self, text: str, label: str, allowed: tuple[float, float], *, whole: bool
    ) -> float | tuple[str, str]:
        low, high = allowed
        value = read_cell(text, self._mark, low, high)
        if isinstance(value, tuple):
            return value[0], f"{label}: {value[1]}"
        if not low <= value <= high or (whole and not value.is_integer()):
            kind = "a whole number" if whole else "a number"
            return "impossible", f"{label}: {value:g}; allowed: {kind} from {low:g} to {high:g}"
        return value
