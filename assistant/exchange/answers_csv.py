"""Answers as a table for spreadsheets: one row a fact with value and unit, out and in again."""

import csv
import datetime as dt
import io
import re
from collections.abc import Iterator
from typing import Any

from assistant.exchange.portable import Gathered, Portable
from assistant.exchange.terms import plain_number
from assistant.knowledge.nearest import did_you_mean, shown
from assistant.model.errors import Problem
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value

COLUMNS = ("fact", "value", "unit", "what")
_NEEDED = ("fact", "value")
_NAME, _AS_OF = "name", "as_of"
_EMPTY = "[]"
_BETWEEN = "; "
# A cell that begins so is run as a formula by spreadsheets.
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?")
_DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+")
_THOUSANDS = re.compile(r"[-+]?\d{1,3},\d{3}")
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}
MAX_ROWS = 2000


def answers_csv(kb: KnowledgeBase, sent: Portable) -> bytes:
    """Return the table: UTF-8 with a mark that spreadsheets look for, RFC 4180 line ends."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    if sent.name:
        writer.writerow((_NAME, guarded(sent.name), "", "name"))
    writer.writerow((_AS_OF, sent.as_of.isoformat(), "date", "day of the answers"))
    for fact, value in sorted(sent.answers.items()):
        declaration = kb.facts[fact]
        unit = "" if declaration.unit == "1" else declaration.unit
        writer.writerow((fact, _cell(value), unit, guarded(declaration.label)))
    return stream.getvalue().encode("utf-8-sig")


def guarded(text: str) -> str:
    """Return a text cell that no spreadsheet runs: an apostrophe before what looks like a formula."""
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """Return what `guarded` was given."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text[1:]) else text


def _cell(value: Value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Status):
        return value.value
    if isinstance(value, tuple):
        return _BETWEEN.join(value) or _EMPTY
    if isinstance(value, str):
        return guarded(value)
    return repr(plain_number(value))


def read_answers_csv(content: bytes, place: str, kb: KnowledgeBase) -> Portable:
    """Return name, day and checked answers of a table.

    Columns may stand in any order, split by comma, semicolon or tab. Raises InputProblems with
    everything that is wrong, row by row.
    """
    reader = _Table(kb, place)
    reader.read(content)
    return reader.checked()


class _Table(Gathered):
    """Reads the rows of a table."""

    comma_is_decimal = False

    def read(self, content: bytes) -> None:
        for line, row in self._rows(content):
            fact, place = row["fact"], f"{self.file}:{line}"
            if fact in self.places:
                text = f"`{shown(fact)}` stands twice; keep one row"
                self.problems.append(Problem(place, "two-values", text))
                continue
            self.places[fact] = place
            if fact == _NAME:
                self.name = unguarded(row["value"])
            elif fact == _AS_OF:
                self._day(row["value"], place)
            elif row["value"]:
                self._answer(fact, row, place)
        if self.as_of is None and not self.problems:
            text = f"has no row `{_AS_OF}`; add the day of the answers, such as {_AS_OF},2026-01-31"
            self._wrong(0, "missing-field", text)

    def _rows(self, content: bytes) -> Iterator[tuple[int, dict[str, str]]]:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            self._wrong(0, "bad-encoding", "is not UTF-8; save it as CSV UTF-8")
            return
        head = text.split("\n", 1)[0]
        delimiter = max(",;\t", key=head.count)
        self.comma_is_decimal = delimiter != ","
        table = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        try:
            columns = [name.strip().lower() for name in next(table, [])]
            missing = [name for name in _NEEDED if name not in columns]
            doubled = [name for name in COLUMNS if columns.count(name) > 1]
            if missing or doubled:
                word = f"the column `{missing[0]}`" if missing else f"`{doubled[0]}` only once"
                self._wrong(1, "bad-columns", f"needs {word}; columns: {', '.join(COLUMNS)}")
                return
            for cells in table:
                if not any(cell.strip() for cell in cells):
                    continue
                if table.line_num > MAX_ROWS:
                    self._wrong(table.line_num, "too-many-rows", f"allowed: {MAX_ROWS} rows")
                    return
                if len(cells) > len(columns):
                    text = f"has {len(cells)} cells; allowed: {len(columns)}; quote cells with `{delimiter}`"
                    self._wrong(table.line_num, "bad-row", text)
                    continue
                row = dict.fromkeys(COLUMNS, "") | dict(
                    zip(columns, map(str.strip, cells), strict=False)
                )
                yield table.line_num, row
        except csv.Error as error:
            self._wrong(table.line_num, "bad-csv", f"{error}; mend the quotes of this row")

    def _wrong(self, line: int, code: str, text: str) -> None:
        place = f"{self.file}:{line}" if line else self.file
        self.problems.append(Problem(place, code, text))

    def _day(self, text: str, place: str) -> None:
        try:
            self.as_of = dt.date.fromisoformat(text)
        except ValueError:
            wrong = f"`{_AS_OF}` is `{shown(text)}`; allowed: a date such as 2026-01-31"
            self.problems.append(Problem(place, "bad-value", wrong))

    def _answer(self, fact: str, row: dict[str, str], place: str) -> None:
        declaration = self.kb.facts.get(fact)
        if declaration is None:
            self.raw[fact] = row["value"]  # the checks of every answer say what is wrong with it
            return
        unit = "" if declaration.unit == "1" else declaration.unit
        if row["unit"] not in {"", unit}:
            allowed = f"allowed: `{unit}`" if unit else "it has no unit"
            hint = did_you_mean(row["unit"], [unit] if unit else [])
            text = f"`{fact}` is in `{shown(row['unit'])}`; {allowed}; convert it first{hint}"
            self.problems.append(Problem(place, "wrong-unit", text))
            return
        self.raw[fact] = self._value(declaration, row["value"], place)

    def _value(self, declaration: FactDeclaration, text: str, place: str) -> Any:
        if text in set(Status):
            return text
        if declaration.type is FactType.CHOICES:
            parts = [part.strip() for part in text.split(_BETWEEN.strip())]
            return [] if text == _EMPTY else [part for part in parts if part]
        if declaration.type is FactType.BOOLEAN:
            return self._yes_no(declaration, text, place)
        if declaration.type in {FactType.NUMBER, FactType.INTEGER}:
            return self._number(declaration, text, place)
        return unguarded(text)

    def _yes_no(self, declaration: FactDeclaration, text: str, place: str) -> Any:
        if text.lower() in _YES_NO:
            return _YES_NO[text.lower()]
        wrong = f"`{declaration.id}` is `{shown(text)}`; allowed: yes or no"
        self.problems.append(Problem(place, "bad-type", wrong))
        return Status.UNKNOWN.value

    def _number(self, declaration: FactDeclaration, text: str, place: str) -> Any:
        if _NUMBER.fullmatch(text):
            return float(text)
        if not _DECIMAL_COMMA.fullmatch(text):
            return text
        if self.comma_is_decimal and not _THOUSANDS.fullmatch(text):
            return float(text.replace(",", "."))
        wrong = f"`{declaration.id}` is `{text}`, which may be read two ways; write a point"
        self.problems.append(Problem(place, "bad-value", wrong))
        return Status.UNKNOWN.value
