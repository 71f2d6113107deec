"""A workbook's sheets as rows of text: real dates and numbers written so that they have one reading."""

import datetime as dt
import re
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from xml.etree import ElementTree as ET

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, PasswordError

from assistant.intake.sheet.table import Row, Sheet
from assistant.model.errors import InputProblems, Problem

SIGNS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_LARGEST_UNPACKED = 200_000_000
# A title may stand above the names of the columns.
_HEADER_WITHIN = 10
_MARKING_THOUSANDS = re.compile(r"\.\d{3}")
Cell = float | str | bool | dt.date | dt.time | dt.timedelta


def read_workbook(path: Path, known_column: Callable[[str], bool]) -> list[Sheet]:
    """Read every sheet with columns of known names; the others are told about in the notes of the first.

    Raises InputProblems with one clear line for a file that is no workbook, or holds no such sheet.
    """
    try:
        _check_size(path)
        book = CalamineWorkbook.from_path(str(path))
        tables = {name: _cells(book.get_sheet_by_name(name)) for name in book.sheet_names}
    except PasswordError:
        told = "the workbook has a password; save it without one"
        raise InputProblems([Problem(str(path), "has-password", told)]) from None
    except (CalamineError, zipfile.BadZipFile, OSError):
        told = "this is no workbook that can be read; save it as .xlsx, .ods or CSV"
        raise InputProblems([Problem(str(path), "not-a-table", told)]) from None
    resultless = _resultless_cells(path)
    # A day and a measure make two; a sheet with one known name alone is read where there is no better.
    known = {name: _known(table, known_column) for name, table in tables.items()}
    least = 2 if max(known.values(), default=0) > 1 else 1
    found: list[Sheet] = []
    passed: list[str] = []
    for name, table in tables.items():
        if known[name] >= least:
            found.append(_sheet(name, table, resultless.get(name, ()), known_column))
        elif any(cell != "" for row in table for cell in row):
            passed.append(f"the sheet `{name}` is not read: its columns have no known names")
    if not found:
        told = "no sheet names a column that is known; a row names them, e.g. date, weight (kg)"
        raise InputProblems([Problem(str(path), "no-measure", told)])
    first, *others = found
    return [Sheet(first.header, first.rows, (*passed, *first.notes), first.resultless), *others]


def _cells(sheet: CalamineSheet) -> list[list[Cell]]:
    """Return all cells; a day that stands once for several rows stands in each of them."""
    rows = sheet.to_python(skip_empty_area=False)
    for (first, left), (last, right) in sheet.merged_cell_ranges or ():
        for row in rows[first + 1 : last + 1] if left == right else ():
            row[left] = rows[first][left]
    return rows


def _check_size(path: Path) -> None:
    if not zipfile.is_zipfile(path):
        return
    with zipfile.ZipFile(path) as packed:
        size = sum(part.file_size for part in packed.infolist())
    if size > _LARGEST_UNPACKED:
        text = f"unpacked the workbook has {size} bytes; allowed: up to {_LARGEST_UNPACKED}"
        raise InputProblems([Problem(str(path), "too-large", text)])


def _sheet(
    name: str,
    table: Sequence[Sequence[Cell]],
    resultless: Sequence[tuple[int, int]],
    known_column: Callable[[str], bool],
) -> Sheet:
    rows = [
        Row(number, tuple(_text(cell) for cell in cells), name)
        for number, cells in enumerate(table, start=1)
    ]
    filled = [row for row in rows if any(cell.strip() for cell in row.cells)]
    known = [sum(map(known_column, row.cells)) for row in filled[:_HEADER_WITHIN]]
    place = known.index(max(known))
    notes = [
        f"row {row.line} of the sheet `{name}` stands above the names of the columns and is not read"
        for row in filled[:place]
    ]
    return Sheet(filled[place], tuple(filled[place + 1 :]), tuple(notes), tuple(resultless))


def _known(table: Sequence[Sequence[Cell]], known_column: Callable[[str], bool]) -> int:
    """Return the most columns of known names that a row near the top has."""
    filled = [row for row in table if any(cell != "" for cell in row)][:_HEADER_WITHIN]
    return max((sum(known_column(_text(cell)) for cell in row) for row in filled), default=0)


def _text(cell: Cell) -> str:
    """Return a cell as text that the readers of cells take for what it is."""
    if isinstance(cell, bool):
        return str(cell).lower()
    if isinstance(cell, float):
        text = f"{cell:.15f}".rstrip("0").rstrip(".") if abs(cell) < 1e15 else f"{cell:g}"  # noqa: PLR2004 - digits of a float
        # Three decimals could be thousands where the text stood in a table without types.
        return f"{text}0" if _MARKING_THOUSANDS.fullmatch(text[text.find(".") :]) else text
    if isinstance(cell, dt.timedelta):
        minutes = round(cell.total_seconds() / 60)
        return f"{minutes // 60}:{minutes % 60:02d}"
    if isinstance(cell, dt.time):
        return f"{cell.hour}:{cell.minute:02d}"
    return cell.isoformat() if isinstance(cell, dt.date) else cell


_CELL = re.compile(
    rb'<(?:\w+:)?c\b(?P<about>[^>]*?\br="(?P<column>[A-Z]+)(?P<row>\d+)"[^>]*?)'
    rb"(?:/>|>(?P<holds>.*?)</(?:\w+:)?c>)",
    re.DOTALL,
)


def _resultless_cells(path: Path) -> dict[str, list[tuple[int, int]]]:
    """Return the cells of each sheet whose formula has no result, or a fault for one: row and column.

    The reader of workbooks gives them as empty, and an empty cell is left out without a word.
    """
    if not zipfile.is_zipfile(path):
        return {}
    with zipfile.ZipFile(path) as packed:
        names = set(packed.namelist())
        if "xl/workbook.xml" not in names or "xl/_rels/workbook.xml.rels" not in names:
            return {}
        # The parser of the standard library refuses entities that grow; the size is checked before.
        related = ET.fromstring(packed.read("xl/_rels/workbook.xml.rels"))  # noqa: S314
        targets = {each.get("Id"): each.get("Target", "") for each in related}
        found = {}
        for sheet in ET.fromstring(packed.read("xl/workbook.xml")).iter():  # noqa: S314
            relation = next((v for k, v in sheet.attrib.items() if k.endswith("}id")), None)
            if not sheet.tag.endswith("}sheet") or relation is None:
                continue
            target = targets.get(relation, "")
            part = target.removeprefix("/") if target.startswith("/") else f"xl/{target}"
            if part in names:
                found[sheet.get("name", "")] = list(_without_result(packed.read(part)))
        return found


def _without_result(xml: bytes) -> Iterator[tuple[int, int]]:
    for cell in _CELL.finditer(xml):
        holds = cell["holds"] or b""
        has_result = re.search(rb"<(?:\w+:)?v>[^<]", holds) is not None
        is_formula = re.search(rb"<(?:\w+:)?f\b", holds) is not None
        if b't="e"' in cell["about"] or (is_formula and not has_result):
            yield int(cell["row"]), column_number(cell["column"].decode())


def column_number(letters: str) -> int:
    """Return the index of a column from its letters: A is 0, AA is 26."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1
