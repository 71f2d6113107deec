"""A client's record from a file, as lines of a check-in. What cannot be read is explained, line by line.

The one reader of dated rows: `checkin --from` takes in its entries, `review --record` measures them.
"""

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from assistant.intake.checkin.book import CheckinBook
from assistant.intake.checkin.doubts import in_words
from assistant.intake.checkin.lift_sets import day_of_sets
from assistant.intake.quantities import UnitSystem
from assistant.intake.sheet.columns import Column, is_known, read_header
from assistant.intake.sheet.dates import Order, read_days
from assistant.intake.sheet.decode import read_sheets
from assistant.intake.sheet.numbers import Mark, mark_of
from assistant.intake.sheet.rows import FoundLine, RowReader, SheetRead, cell_of
from assistant.intake.sheet.table import Row, Sheet
from assistant.model.entries import Spot
from assistant.model.errors import InputProblems, Problem, Refused


def read_record_sheet(
    path: Path,
    book: CheckinBook,
    today: dt.date,
    system: UnitSystem = UnitSystem.METRIC,
    order: Order | None = None,
) -> SheetRead:
    """Read a file, all sheets of a workbook. Raises InputProblems for one that is no table, or whose header is wrong."""
    sheets = read_sheets(path, lambda cell: is_known(cell, book))
    headers = [read_header(sheet.header, book, system, str(path)) for sheet in sheets]
    problems = [problem for _, _, wrong in headers for problem in wrong]
    if problems:
        raise InputProblems(problems)
    out = SheetRead()
    for sheet, (columns, unknown, _) in zip(sheets, headers, strict=True):
        out.notes += [*sheet.notes, *_left_out(sheet, unknown)]
        _read_rows(sheet, columns, out, str(path), today, order, book, system)
    out.found = list(_sets_together(out.found, out.problems))
    out.problems.sort(key=line_of)
    return out


def _read_rows(
    sheet: Sheet,
    columns: list[Column],
    out: SheetRead,
    file: str,
    today: dt.date,
    order: Order | None,
    book: CheckinBook,
    system: UnitSystem,
) -> None:
    """Read one table's rows into `out`, with every row or cell that is wrong."""
    rows, wrong = _whole_rows(sheet, file)
    named = {column.index: column for column in columns}
    for line, column in sheet.resultless:
        if column in named and line > sheet.header.line:
            told = f"{named[column].header}: a formula without a result; type the value"
            wrong.append(
                Problem(Row(line, (), sheet.header.sheet).place(file, column), "no-value", told)
            )
    days_column = next(column for column in columns if column.role == "date")
    dated = [row for row in rows if cell_of(row, days_column)]
    wrong += [
        Problem(row.place(file), "no-date", "this line has values but no day; add the day")
        for row in rows
        if not cell_of(row, days_column)
    ]
    days, how = read_days([cell_of(row, days_column) for row in dated], today, order)
    out.notes += how
    out.problems += wrong
    reader = RowReader(book, columns, _mark(dated, columns), out, system)
    for row, day in zip(dated, days, strict=True):
        if isinstance(day, Refused):
            out.problems.append(day.at(row.place(file, days_column.index)))
        else:
            reader.read(row, day, file)


def _sets_together(found: Iterable[FoundLine], problems: list[Problem]) -> Iterator[FoundLine]:
    """Yield the lines with the numbered sets of a lift and day as one, in the order of their numbers."""
    numbered: dict[Spot, dict[int, FoundLine]] = {}
    for line in found:
        if line.set_number is None:
            yield line
            continue
        sets = numbered.setdefault(line.entry.spot, {})
        first = sets.setdefault(line.set_number, line)
        if first.entry != line.entry:
            text = (
                f"set {line.set_number} of {line.entry.detail} stands in line "
                f"{_line_number(first.place)} too, and says something else; number the sets "
                "1, 2, 3"
            )
            problems.append(Problem(line.place, "said-twice", text))
    for spot, sets in numbered.items():
        done = [each for _, line in sorted(sets.items()) for each in line.entry.sets]
        place = min((line.place for line in sets.values()), key=_line_number)
        yield FoundLine(place, day_of_sets(spot.day, spot.detail, done))


def line_of(problem: Problem) -> int:
    """Return the line of the file that a problem is about."""
    return _line_number(problem.place)


def _line_number(place: str) -> int:
    """Return the line of `march.csv:7` or `march.xlsx:Log!C7`."""
    return int(re.findall(r"\d+", place)[-1])


def one_a_spot(
    found: Iterable[FoundLine], book: CheckinBook, *, last_counts: bool | None = None
) -> tuple[list[FoundLine], int, int, list[Problem]]:
    """Return one line for each spot, how many say the same and how many count for nothing, and problems.

    last_counts: which of two lines that differ counts; None where that is a problem.
    """
    by_spot: dict[Spot, FoundLine] = {}
    same = passed_over = 0
    problems = []
    for line in found:
        first = by_spot.setdefault(line.entry.spot, line)
        if first is line:
            continue
        if first.entry == line.entry:
            same += 1
        elif last_counts:
            by_spot[line.entry.spot] = line
        elif last_counts is not None:
            passed_over += 1
        else:
            text = (
                f"{in_words(line.entry, book)}, but line {_line_number(first.place)} says "
                f"{in_words(first.entry, book)}; correct one, or say --keep (the first) or "
                "--replace (the last)"
            )
            if line.entry.measure == "top_set":
                text += "; several sets of one day have a column `set` with their number"
            problems.append(Problem(line.place, "said-twice", text))
    return list(by_spot.values()), same, passed_over, problems


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
            problems.append(Problem(row.place(place), "too-many-cells", text))
        else:
            rows.append(row)
    return rows, problems


def _mark(rows: list[Row], columns: list[Column]) -> Mark | None:
    numeric = [column for column in columns if column.role == "measure"]
    return mark_of(cell_of(row, column) for row in rows for column in numeric)
