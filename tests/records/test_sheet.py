"""Files as spreadsheets write them: imported, or explained line by line; nothing is guessed.

Day numbers of spreadsheets: 44197 is 2021-01-01 and 45658 is 2025-01-01 (widely printed, from
memory); encodings are Python's own codecs; a pound is 0.45359237 kg and an inch 2.54 cm exactly
(international yard and pound agreement of 1959).
"""

import csv
import datetime as dt
import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.quantities import UnitSystem
from assistant.intake.sheet.dates import Order, read_days
from assistant.intake.sheet.numbers import mark_of, read_cell
from assistant.intake.sheet.read import read_record_sheet
from assistant.intake.sheet.rows import SheetRead
from assistant.model.entries import Entry
from assistant.model.errors import InputProblems, Refused
from assistant.model.knowledge import KnowledgeBase

TODAY = dt.date(2026, 1, 31)


@pytest.fixture(scope="module")
def book(kb: KnowledgeBase) -> CheckinBook:
    return checkin_book(kb, TODAY)


class Reader:
    def __init__(self, book: CheckinBook, folder: Path) -> None:
        self._book, self._path = book, folder / "log.csv"

    def __call__(
        self, text: str | bytes, system: UnitSystem = UnitSystem.METRIC, order: Order | None = None
    ) -> SheetRead:
        raw = text if isinstance(text, bytes) else text.encode()
        self._path.write_bytes(raw)
        return read_record_sheet(self._path, self._book, TODAY, system, order)


@pytest.fixture
def read(book: CheckinBook, tmp_path: Path) -> Reader:
    return Reader(book, tmp_path)


def weights(found: SheetRead) -> list[tuple[str, float]]:
    assert found.problems == []
    return [(line.entry.day.isoformat(), line.entry.value or 0.0) for line in found.found]


def told(found: SheetRead) -> list[str]:
    return [f"{p.place.rpartition(':')[2]} {p.code}" for p in found.problems]


ROWS = "Date;Weight (kg)\r\n2026-01-05;63,4\r\n2026-01-06;63,1\r\n"
GOOD = [("2026-01-05", 63.4), ("2026-01-06", 63.1)]


@pytest.mark.parametrize(
    "raw",
    [
        ROWS.encode("utf-8"),
        ROWS.encode("utf-8-sig"),
        ROWS.encode("utf-16"),
        b"\xfe\xff" + ROWS.encode("utf-16-be"),
        ROWS.encode("utf-16-le"),
        ROWS.encode("utf-16-be"),
        ROWS.replace("\r\n", "\n").encode(),
        ROWS.replace("\r\n", "\r").encode(),
        ROWS.replace(";", "\t").encode("utf-16"),
        ROWS.replace(",", ".").replace(";", ",").encode(),
        ('"' + ROWS.replace(";", '","').replace("\r\n", '"\r\n"')[:-1]).encode(),
        b"sep=;\r\n" + ROWS.encode(),
        ("\r\n\r\n" + ROWS + ";\r\n;;;\r\n").encode(),
    ],
)
def test_one_table_in_every_dress(read: Reader, raw: bytes) -> None:
    assert weights(read(raw)) == GOOD


def test_letters_with_accents_in_an_old_encoding_are_told_about(read: Reader) -> None:
    found = read("Date;Weight (kg);Größe des Tellers\r\n2026-01-05;63,4;à\r\n".encode("cp1252"))
    assert weights(found) == [("2026-01-05", 63.4)]
    assert any("Windows-1252" in note for note in found.notes)
    assert any("Größe des Tellers" in note for note in found.notes)


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        (b"", "empty-file"),
        (b"\r\n\r\n", "empty-file"),
        (b"PK\x03\x04 a workbook", "not-a-table"),
        (b"hello there\n", "no-date-column"),
        (b"date;colour\n2026-01-05;red\n", "no-measure"),
        (b"weight;waist\n63;72\n", "no-date-column"),
        (b"date;wieght\n2026-01-05;63\n", "unknown-column"),
        (b"date;#wieght\n2026-01-05;63\n", "no-measure"),
        (b"date;weight;body weight\n2026-01-05;63;63\n", "repeated-column"),
        (b"date;weight (furlong)\n2026-01-05;63\n", "bad-unit"),
        (b"date;exercise;load\n2026-01-05;squat;80\n", "missing-column"),
        (b'date;weight\n2026-01-05;"63\n' + b"x" * 140_000, "bad-line"),
    ],
)
def test_a_file_that_is_no_log_is_one_clear_thing(read: Reader, raw: bytes, code: str) -> None:
    with pytest.raises(InputProblems) as caught:
        read(raw)
    assert code in {problem.code for problem in caught.value.problems}


@pytest.mark.parametrize(
    ("cells", "days"),
    [
        (["2026-01-05", "2026/1/5", "2026.01.05"], ["2026-01-05"] * 3),
        (["05.01.2026", "5. 1. 26"], ["2026-01-05"] * 2),
        (["5 Jan 2026", "5-Jan-26", "Jan 5, 2026", "Monday, 5 January 2026"], ["2026-01-05"] * 4),
        (["44197", "45658"], ["2021-01-01", "2025-01-01"]),
        (["05/01/2026", "25/01/2026"], ["2026-01-05", "2026-01-25"]),  # one cell settles all
        (["01/05/2026", "01/25/2026"], ["2026-01-05", "2026-01-25"]),
        (["12/01/2026", "19/01/26"], ["2026-01-12", "2026-01-19"]),
        (["05/01/2026 07:30", "2026-01-25T07:30:00"], ["2026-01-05", "2026-01-25"]),
        (["06/01/2026"], ["2026-01-06"]),  # 1 June has not been yet
        (["03/03/2025"], ["2025-03-03"]),  # both readings agree
        (["02/03/2025"], ["two-dates"]),
        (["02/03/2025", "2025-03-02"], ["two-dates", "2025-03-02"]),  # no cell settles it
        (["25/01/2026", "01/25/2026", "02/03/2025"], ["2026-01-25", "2026-01-25", "two-dates"]),
        (["30/02/2025", "soon", "2026-02-01"], ["bad-date", "bad-date", "future-date"]),
        (["31.04.2025", "2026-13-01", "99999"], ["bad-date"] * 3),
    ],
)
def test_days_have_one_reading_or_are_explained(cells: list[str], days: list[str]) -> None:
    found, _ = read_days(cells, TODAY, None)
    assert [r.code if isinstance(r, Refused) else r.isoformat() for r in found] == days


def test_the_order_of_day_and_month_can_be_said() -> None:
    for order, day in (("dmy", dt.date(2025, 3, 2)), ("mdy", dt.date(2025, 2, 3))):
        found, _ = read_days(["02/03/2025"], TODAY, order)  # type: ignore[arg-type]
        assert found[0] == day
    found, _ = read_days(["25/01/2025"], TODAY, "mdy")
    assert isinstance(found[0], Refused)


FORMATS = ("%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%b %d, %Y", "%d/%m/%Y", "%m/%d/%Y", "%d-%m-%y")


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.dates(dt.date(2024, 1, 1), TODAY), min_size=1, max_size=12),
    st.sampled_from(FORMATS),
)
def test_a_column_written_by_strftime_is_never_read_as_other_days(
    days: list[dt.date], form: str
) -> None:
    """Python's own strftime writes; a cell may be refused, but never be read as another day."""
    found, _ = read_days([day.strftime(form) for day in days], TODAY, None)
    for day, reading in zip(days, found, strict=True):
        assert reading == day or (isinstance(reading, Refused) and reading.code == "two-dates")


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.dates(dt.date(2024, 1, 1), TODAY), min_size=1, max_size=12),
    st.sampled_from(["dmy", "mdy"]),
)
def test_with_the_order_said_every_day_is_read(days: list[dt.date], order: Order) -> None:
    form = "%d/%m/%Y" if order == "dmy" else "%m/%d/%Y"
    found, _ = read_days([day.strftime(form) for day in days], TODAY, order)
    assert found == days


@pytest.mark.parametrize(
    ("cells", "values"),
    [
        (["63.4", "63", "1,234.5"], [63.4, 63.0, 1234.5]),
        (["63,4", "63", "1.234,5", "1 234,5", "2.150"], [63.4, 63.0, 1234.5, 1234.5, 2150.0]),
        (["2,150"], [2150.0]),  # 2.15 is outside the allowed range
        (["2.150"], [2150.0]),
        (["63,4", "2,150.5"], [63.4, 2150.5]),
        (["12,5x", "1.2.3", "--", "1e3"], ["bad-number"] * 4),
        (["63.4", "2,150"], [63.4, 2150.0]),
    ],
)
def test_decimal_marks(cells: list[str], values: list[object]) -> None:
    mark = mark_of(cells)
    for cell, value in zip(cells, values, strict=True):
        if isinstance(value, float):
            assert read_cell(cell, mark, 20, 9000) == value
        else:
            with pytest.raises(Refused) as refused:
                read_cell(cell, mark, 20, 9000)
            assert refused.value.code == value


def test_a_number_with_two_readings_is_explained() -> None:
    with pytest.raises(Refused) as refused:
        read_cell("1,234", None, 0, 9000)
    assert refused.value.code == "two-numbers"
    assert refused.value.text == "`1,234` can mean 1.234 or 1234; write it without that mark"


def test_units_in_the_header_and_in_the_cell(read: Reader) -> None:
    found = read(
        "Date,Weight (lb),Waist [in],Energy kJ,Sleep (min)\n"
        "2026-01-05,140,28.5,9000,450\n2026-01-06,63.5 kg,72 cm,2150 kcal,7:30\n"
    )
    assert found.problems == []
    values = {(line.entry.measure, line.entry.day.day): line.entry.value for line in found.found}
    assert values["weight_kg", 5] == pytest.approx(140 * 0.45359237)
    assert values["girth_cm", 5] == pytest.approx(28.5 * 2.54)
    assert values["energy_kcal", 5] == pytest.approx(9000 / 4.184)
    assert values["sleep_hours", 5] == 7.5
    assert values["weight_kg", 6] == 63.5
    assert values["girth_cm", 6] == 72.0
    assert values["energy_kcal", 6] == 2150.0
    assert values["sleep_hours", 6] == 7.5
    pounds = read("date,weight\n2026-01-05,140\n", UnitSystem.IMPERIAL)
    assert weights(pounds) == [("2026-01-05", pytest.approx(63.5029318))]


def test_every_line_that_cannot_be_read_is_explained(read: Reader) -> None:
    found = read(
        "date;weight;session;mood;exercise;load;reps;rir;pain\n"
        "2026-01-05;630;;;;;;;\n"  # impossible
        "2026-01-06;;maybe;;;;;;\n"
        "2026-01-07;;;6;;;;;\n"
        "2026-01-08;;;;Squad;80;8;;\n"
        "2026-01-09;;;;squat;80;;;\n"
        "2026-01-10;;;;squat;80;80;;\n"
        "2026-01-11;;;;squat;80;8;20;\n"
        "2026-01-12;;;;;;;;ear 3\n"
        ";63;;;;;;;\n"
        "2026-01-13;63;;;;;;;;;;7\n"
        "2026-01-14;;;2,5;;;;;\n"
        "2026-01-15;63,2;x;4;squat;82,5;8;1,5;knee 3, low back 2\n"
    )
    assert told(found) == [
        "2 impossible", "3 bad-number", "4 impossible", "5 unknown-exercise", "6 half-a-set",
        "7 impossible", "8 impossible", "9 bad-pain", "10 no-date", "11 too-many-cells",
        "12 not-whole",
    ]  # fmt: skip
    day = dt.date(2026, 1, 15)
    assert {line.entry for line in found.found} == {
        Entry("weight_kg", day, 63.2),
        Entry("session", day, 1.0),
        Entry("mood_1_to_5", day, 4.0),
        Entry("top_set", day, 82.5, "squat_back_barbell", 8, 1.5),
        Entry("pain", day, 3.0, "knee"),
        Entry("pain", day, 2.0, "low_back"),
    }


logs = st.lists(
    st.tuples(
        st.dates(dt.date(2025, 2, 1), TODAY),
        st.integers(400, 1500).map(lambda n: n / 10),
        st.one_of(st.none(), st.integers(600, 1200).map(lambda n: n / 10)),
        st.one_of(st.none(), st.integers(900, 5000)),
        st.one_of(st.none(), st.integers(1, 5)),
    ),
    min_size=1,
    max_size=15,
    unique_by=lambda row: row[0],
)


@settings(max_examples=20, deadline=None)
@given(logs, st.sampled_from([";", "\t", "|"]), st.sampled_from(["utf-8-sig", "utf-16", "utf-8"]))
def test_what_the_standard_library_writes_is_read_back(
    book: CheckinBook, tmp_path_factory: pytest.TempPathFactory,
    log: list[tuple[dt.date, float, float | None, int | None, int | None]],
    separator: str, encoding: str,
) -> None:  # fmt: skip
    """Written by Python's csv module with decimal commas, as many spreadsheets write."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator)
    writer.writerow(["Date", "Weight (kg)", "Waist (cm)", "Calories", "Mood"])
    for day, *cells in log:
        shown = ["" if cell is None else str(cell).replace(".", ",") for cell in cells]
        writer.writerow([day.isoformat(), *shown])
    path = tmp_path_factory.mktemp("sheet") / "log.csv"
    path.write_bytes(out.getvalue().encode(encoding))
    found = read_record_sheet(path, book, TODAY)
    assert found.problems == []
    expected = {
        (measure, day, float(value))
        for day, *cells in log
        for measure, value in zip(
            ("weight_kg", "girth_cm", "energy_kcal", "mood_1_to_5"), cells, strict=True
        )
        if value is not None
    }
    assert {(e.entry.measure, e.entry.day, e.entry.value) for e in found.found} == expected
