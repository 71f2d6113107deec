"""Workbooks: the same columns as a table of text, real dates and numbers, faults with sheet, row and column."""

import datetime as dt
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from record_support import Command

from assistant.cli.main import main
from assistant.cli.record_file import read_record
from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.sheet.table import column_letters
from assistant.intake.sheet.workbook import column_number
from assistant.model.errors import InputProblems
from assistant.model.history import DayOfEating, Girth, LiftSet, SessionMark, Weighing
from assistant.model.knowledge import KnowledgeBase

FIRST, SECOND = dt.date(2026, 1, 12), dt.date(2026, 1, 13)


@pytest.fixture(scope="module")
def book(kb: KnowledgeBase) -> CheckinBook:
    return checkin_book(kb, SECOND)


def _workbook(path: Path, **sheets: list[list[Any]]) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.worksheets[0])
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    made.save(path)
    return path


def _problems(path: Path, book: CheckinBook) -> list[str]:
    with pytest.raises(InputProblems) as caught:
        read_record(path, book)
    return [str(problem).removeprefix(f"{path}:") for problem in caught.value.problems]


def test_dates_numbers_times_and_words_are_what_they_are(tmp_path: Path, book: CheckinBook) -> None:
    path = _workbook(
        tmp_path / "r.xlsx",
        Log=[
            ["Day", "Weight (kg)", "kcal", "protein", "waist", "sleep", "session"],
            [FIRST, 63.125, 2150, 105, 72, dt.time(7, 30), "done"],
            [dt.datetime(2026, 1, 13, 7, 5), "63,4", 1999.5, None, None, 8, "missed"],  # noqa: DTZ001
        ],
        Lifts=[
            ["made by hand"],
            [],
            ["date", "exercise", "set", "load", "reps", "rir"],
            [46034, "back squat", 1, 80, 10, 2],
            ["2026-01-12", "back squat", 2, 80, 9, 2],
        ],
        Notes=[["a line to nobody"]],
    )
    history, notes = read_record(path, book)
    assert history.weighings == (Weighing(FIRST, 63.125), Weighing(SECOND, 63.4))
    assert history.eating == (DayOfEating(FIRST, 2150, 105), DayOfEating(SECOND, 1999.5))
    assert history.girths == (Girth(FIRST, "waist", 72),)
    assert [note.sleep_hours for note in history.notes] == [7.5, 8]
    assert history.sessions == (SessionMark(FIRST, done=True), SessionMark(SECOND, done=False))
    assert history.top_sets[0].day == FIRST  # 46034 is 12 January 2026 in a spreadsheet's own days
    assert history.top_sets[0].sets == (LiftSet(80, 10, 2), LiftSet(80, 9, 2))
    told = "\n".join(notes)
    assert "the sheet `Notes` is not read" in told
    assert "row 1 of the sheet `Lifts` stands above the names" in told


def test_a_number_with_three_decimals_is_never_thousands(tmp_path: Path, book: CheckinBook) -> None:
    """`2.150` in a table of text can be two thousand; in a workbook it is a number, and here impossible."""
    path = _workbook(tmp_path / "r.xlsx", Log=[["day", "kcal"], [FIRST, 2.150], [SECOND, 2.155]])
    assert [text.partition(": ")[0] for text in _problems(path, book)] == ["Log!B2", "Log!B3"]


def test_faults_name_sheet_row_and_column_and_none_is_lost(
    tmp_path: Path, book: CheckinBook
) -> None:
    path = _workbook(
        tmp_path / "r.xlsx",
        **{
            "May 2": [["day", "weight (kg)", "sleep"], [FIRST, 6340, 7], ["soon", 63, 7], [None, 63]],
            "June": [["", "day", "waist"], ["x", FIRST, "wide"], [None, SECOND, "=1+71"]],
        },
    )  # fmt: skip
    found = _problems(path, book)
    assert [text.partition(": ")[0] for text in found] == [
        "May 2!B2", "June!C2", "May 2!A3", "June!C3", "May 2!4",
    ]  # fmt: skip
    assert "formula without a result" in found[3]


def test_a_day_merged_over_several_rows_counts_for_each(tmp_path: Path, book: CheckinBook) -> None:
    made = openpyxl.Workbook()
    sheet = made.worksheets[0]
    for row in (["day", "exercise", "load", "reps"], [FIRST, "squat", 80, 10], [None, "bench", 50, 8],
                [SECOND, "squat", 82.5, 9]):  # fmt: skip
        sheet.append(row)
    sheet.merge_cells("A2:A3")
    made.save(tmp_path / "r.xlsx")
    history, _ = read_record(tmp_path / "r.xlsx", book)
    assert [(row.day, row.load_kg) for row in history.top_sets] == [
        (FIRST, 50), (FIRST, 80), (SECOND, 82.5),
    ]  # fmt: skip


def test_a_fault_of_a_formula_is_told(tmp_path: Path, book: CheckinBook) -> None:
    made = openpyxl.Workbook()
    sheet = made.worksheets[0]
    sheet.title = "Log"
    sheet.append(["day", "weight (kg)"])
    sheet.append([FIRST, "#DIV/0!"])
    sheet["B2"].data_type = "e"
    made.save(tmp_path / "r.xlsx")
    (told,) = _problems(tmp_path / "r.xlsx", book)
    assert told.startswith("Log!B2: no-value: weight (kg)")


@pytest.mark.parametrize(
    ("raw", "code"),
    [(b"PK\x03\x04 no zip", "not-a-table"), (b"\xd0\xcf\x11\xe0 neither", "not-a-table")],
)
def test_what_is_no_workbook_is_one_line(
    raw: bytes, code: str, tmp_path: Path, book: CheckinBook
) -> None:
    path = tmp_path / "r.xlsx"
    path.write_bytes(raw)
    (told,) = _problems(path, book)
    assert told.strip().startswith(code)


def test_a_workbook_without_known_columns_is_one_line(tmp_path: Path, book: CheckinBook) -> None:
    path = _workbook(tmp_path / "r.xlsx", Log=[["first", "second"], [1, 2]])
    (told,) = _problems(path, book)
    assert "no sheet names a column" in told


def test_a_workbook_that_unpacks_without_end_is_refused(tmp_path: Path, book: CheckinBook) -> None:
    path = tmp_path / "r.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for number in range(3):
            packed.writestr(f"{number}", b"\0" * 70_000_000)
    (told,) = _problems(path, book)
    assert "too-large" in told


ODS = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>
<table:table table:name="Log">
<table:table-row><table:table-cell office:value-type="string"><text:p>day</text:p></table:table-cell>
<table:table-cell office:value-type="string"><text:p>weight (kg)</text:p></table:table-cell></table:table-row>
<table:table-row><table:table-cell office:value-type="date" office:date-value="2026-01-12"/>
<table:table-cell office:value-type="float" office:value="63.5"/></table:table-row>
</table:table></office:spreadsheet></office:body></office:document-content>"""


def test_an_open_document_reads_too(tmp_path: Path, book: CheckinBook) -> None:
    path = tmp_path / "r.ods"
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("mimetype", kind)
        packed.writestr(
            "META-INF/manifest.xml",
            '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
            "</manifest:manifest>",
        )
        packed.writestr("content.xml", "".join(ODS.splitlines()))
    history, _ = read_record(path, book)
    assert history.weighings == (Weighing(FIRST, 63.5),)


def test_both_commands_take_a_workbook(
    tmp_path: Path, whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = _workbook(tmp_path / "r.xlsx", Log=[["day", "weight (kg)"], [FIRST, 63.5], [SECOND, 63]])
    assert whyplan("checkin", ines, "--from", str(path), on="2026-01-13") == 0
    assert "2 lines are in the record" in capsys.readouterr().out
    words = ["review", "cases/four_days.yaml", "--record", str(path), "--as-of", "2026-01-13"]
    assert main(words) == 0
    assert "Review for" in capsys.readouterr().out


def test_letters_of_columns_go_both_ways() -> None:
    """A to Z, then AA: the 26 letters of a spreadsheet's columns, well known, from memory."""
    letters = [column_letters(number) for number in range(800)]
    assert (letters[0], letters[25], letters[26], letters[701], letters[702]) == (
        "A", "Z", "AA", "ZZ", "AAA",
    )  # fmt: skip
    assert [column_number(each) for each in letters] == list(range(800))
