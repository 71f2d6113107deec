"""A file of dated rows as tables of text: a spreadsheet's encoding and separator, a workbook, YAML and JSON."""

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

from assistant.intake.sheet.table import Row, Sheet
from assistant.intake.sheet.workbook import SIGNS, read_workbook
from assistant.knowledge.nearest import shown
from assistant.knowledge.strict_yaml import parse_file
from assistant.model.errors import InputProblems, Problem

LARGEST_FILE = 10_000_000
SEPARATORS = (";", "\t", ",", "|")
_SEPARATOR_NAMES = {";": "semicolons", "\t": "tabs", "|": "bars"}


def read_sheets(path: Path, known_column: Callable[[str], bool]) -> list[Sheet]:
    """Read a file: a workbook's sheets, or one table.

    A separator is the one that gives the most columns with known names. YAML and JSON hold the rows
    under `rows`, each with its columns by name. Raises InputProblems with one clear line for a file
    that is no table.
    """
    if path.suffix.lower() in {".yaml", ".yml", ".json"}:
        return [_document(path)]
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            text = f"the file has {size} bytes; allowed: up to {LARGEST_FILE}; split it by years"
            raise InputProblems([Problem(str(path), "too-large", text)])
        raw = path.read_bytes()
    except OSError as error:
        text = f"the file cannot be read ({error.strerror}); check the name"
        raise InputProblems([Problem(str(path), "no-file", text)]) from error
    if raw.startswith(SIGNS):
        return read_workbook(path, known_column)
    text, notes = decoded(raw, str(path))
    return [_table(text, notes, str(path), known_column)]


def decoded(raw: bytes, place: str) -> tuple[str, list[str]]:
    """Return the text of a file and what had to be found out about it."""
    for mark, encoding in (
        (b"\xef\xbb\xbf", "utf-8-sig"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if raw.startswith(mark):
            return _decode(raw, encoding, place), []
    if b"\x00" in raw:
        # A spreadsheet's "Unicode text" without its mark: every second byte of plain letters is 0.
        even = raw[0::2].count(0)
        encoding = "utf-16-be" if even > raw[1::2].count(0) else "utf-16-le"
        return _decode(raw, encoding, place), [f"the file was read as {encoding.upper()}"]
    try:
        return raw.decode("utf-8"), []
    except UnicodeDecodeError:
        note = "the file is not UTF-8; it was read as Windows-1252: check letters with accents"
        return _decode(raw, "cp1252", place), [note]


def _decode(raw: bytes, encoding: str, place: str) -> str:
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        told = "the letters of this file cannot be read; save it as CSV UTF-8"
        raise InputProblems([Problem(place, "bad-encoding", told)]) from error
    if "\x00" in text:
        told = "the file holds bytes that are no text; save it as CSV UTF-8"
        raise InputProblems([Problem(place, "not-text", told)])
    return text


def _table(text: str, notes: list[str], place: str, known_column: Callable[[str], bool]) -> Sheet:
    first = text.lstrip("\r\n").partition("\n")[0].strip()
    told_separator = first[4:5] if first.lower().startswith("sep=") else ""
    candidates = (told_separator,) if told_separator else SEPARATORS
    tables = [(each, _rows(text, each, place)) for each in candidates]
    best: tuple[tuple[int, int], str, list[Row]] | None = None
    for separator, rows in tables:
        body = [row for row in rows if any(cell.strip() for cell in row.cells)]
        if told_separator and body:
            body = body[1:]
        if not body:
            continue
        header = body[0].cells
        score = (sum(known_column(cell) for cell in header), len(header))
        if best is None or score > best[0]:
            best = (score, separator, body)
    if best is None:
        told = "the file is empty; the first line names the columns, e.g. date;weight (kg)"
        raise InputProblems([Problem(place, "empty-file", told)])
    separator, body = best[1], best[2]
    if separator in _SEPARATOR_NAMES and len(body[0].cells) > 1:
        notes = [*notes, f"cells are separated by {_SEPARATOR_NAMES[separator]}"]
    return Sheet(body[0], tuple(body[1:]), tuple(notes))


def _rows(text: str, separator: str, place: str) -> list[Row]:
    reader = csv.reader(text.splitlines(keepends=True), delimiter=separator)
    rows: list[Row] = []
    line = 1
    try:
        for cells in reader:
            rows.append(Row(line, tuple(cells)))
            line = reader.line_num + 1
    except csv.Error as error:
        told = f"the line cannot be taken apart ({error}); look for a stray quotation mark"
        raise InputProblems([Problem(f"{place}:{line}", "bad-line", told)]) from error
    return rows


def _document(path: Path) -> Sheet:
    parsed = parse_file(path, str(path), plain_dates=True)
    data = parsed.data
    listed = data.get("rows") if isinstance(data, dict) else None
    if not isinstance(listed, list) or set(data) - {"rows", "name"}:
        text = "a record has the field `rows`, a list of rows with a day (and `name`, if you like)"
        raise InputProblems([Problem(parsed.place(), "bad-type", text)])
    for number, row in enumerate(listed):
        cells = row.values() if isinstance(row, dict) else (row,)
        if not isinstance(row, dict) or not all(map(_is_cell, cells)):
            text = f"`{shown(row)}` is no row; write {{day: 2026-01-12, weight_kg: 63.5}}"
            raise InputProblems([Problem(parsed.place("rows", number), "bad-type", text)])
    names = tuple(dict.fromkeys(str(name) for row in listed for name in row))
    rows = (
        Row(parsed.line(("rows", number)), tuple(_text(row.get(name)) for name in names))
        for number, row in enumerate(listed)
    )
    return Sheet(Row(parsed.line(("rows",)), names), tuple(rows))


def _is_cell(cell: Any) -> bool:
    """Tell whether a value can stand in a cell; a list can where it holds whole numbers, as of sets."""
    if isinstance(cell, list):
        return bool(cell) and all(type(each) is int for each in cell)
    return not isinstance(cell, dict)


def _text(cell: Any) -> str:
    if isinstance(cell, list):
        return "/".join(map(str, cell))  # no reader of single numbers takes that for one
    return "" if cell is None else shown(cell) if isinstance(cell, bool) else str(cell)
