"""A table of text: rows with their place in the file, whatever form the file has."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One row; `line` counts from 1 as an editor or a spreadsheet does. sheet: of a workbook."""

    line: int
    cells: tuple[str, ...]
    sheet: str = ""

    def place(self, file: str, column: int | None = None) -> str:
        """Return where the row, or a cell of it, stands: `march.csv:7`, `march.xlsx:Log!C7`."""
        if not self.sheet:
            return f"{file}:{self.line}"
        letters = "" if column is None else column_letters(column)
        return f"{file}:{self.sheet}!{letters}{self.line}"


@dataclass(frozen=True)
class Sheet:
    """A decoded table: the header, the rows under it, and what was found out about it.

    resultless: rows and columns of cells that hold a formula without a result.
    """

    header: Row
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()
    resultless: tuple[tuple[int, int], ...] = ()


def column_letters(column: int) -> str:
    """Return the letters of a column by its index: 0 is A, 26 is AA."""
    letters = ""
    number = column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
