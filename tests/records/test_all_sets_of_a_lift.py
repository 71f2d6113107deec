"""All sets of a lift on a day: typed, in a file in three ways, kept as one line, old lines unchanged."""

import datetime as dt
import json
from pathlib import Path

import pytest

from assistant.cli.record_file import read_record
from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.checkin.doubts import compare
from assistant.intake.checkin.typed_lines import Situation, read_lines
from assistant.intake.checkin.written import written
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.intake.sheet.read import read_record_sheet
from assistant.model.entries import Entry
from assistant.model.errors import InputProblems
from assistant.model.history import LiftSet, TopSet
from assistant.model.knowledge import KnowledgeBase
from assistant.records.projection import entry_line, entry_of, history_of_entries
from assistant.records.store import open_records

DAY = dt.date(2026, 1, 12)
SQUAT = "squat_back_barbell"
THREE = (LiftSet(80, 10, 2), LiftSet(80, 10, 2), LiftSet(80, 9, 2))


@pytest.fixture(scope="module")
def book(kb: KnowledgeBase) -> CheckinBook:
    return checkin_book(kb, DAY)


@pytest.mark.parametrize(
    ("typed", "sets"),
    [
        ("squat 80x10,10,9@2", THREE),
        ("squat 80 kg x 10, 10, 9 @2", THREE),
        ("squat 80 x 10 @2, squat 80 x 10 @2; squat 80 x 9 @2", THREE),
        ("squat 80 x 10,10 @2 + 80 x 9 @2", THREE),
        ("squat 82,5 x 8 + 70x12@3", (LiftSet(82.5, 8), LiftSet(70, 12, 3))),
        ("squat 60 x 12 + 80 x 8 @1", (LiftSet(80, 8, 1), LiftSet(60, 12))),
        ("squat 80 x 8 @2", (LiftSet(80, 8, 2),)),
    ],
)
def test_sets_as_people_type_them_read_back_as_they_are_shown(
    typed: str, sets: tuple[LiftSet, ...], book: CheckinBook
) -> None:
    situation = Situation(book, DAY)
    (entry,) = read_lines("top_sets", typed, situation, UnitSystem.METRIC)
    assert (entry.detail, entry.sets) == (SQUAT, sets)
    shown = written([entry], "top_sets")
    assert read_lines("top_sets", shown, situation, UnitSystem.METRIC) == (entry,)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("squat 80 x 10, 70", "70 repetitions are not possible"),
        ("squat 80 x 10 + 90", "write it like"),
        ("squat 800 x 10,10", "not possible"),
        ("squat 80 x 10 + 80 x 9 @12", "12 left"),
    ],
)
def test_sets_that_cannot_be_read_are_told_in_one_line(
    typed: str, told: str, book: CheckinBook
) -> None:
    with pytest.raises(Refusal, match=told):
        read_lines("top_sets", typed, Situation(book, DAY), UnitSystem.METRIC)


NUMBERED = (
    "day,exercise,set,load_kg,reps,reserve\n"
    "2026-01-12,back squat,2,80,10,2\n2026-01-12,back squat,1,80,10,2\n2026-01-12,squat,3,80,9,2\n"
)
WAYS = {
    "numbered.csv": NUMBERED,
    "list.csv": 'day,exercise,load_kg,reps,reserve\n2026-01-12,squat,80,"10,10,9",2\n',
    "cell.csv": 'day,exercise,sets\n2026-01-12,squat,"80x10,10,9@2"\n',
    "counted.csv": "day,exercise,sets,load_kg,reps,reserve\n2026-01-12,squat,3,80,10/10/9,2\n",
    "rows.json": json.dumps({"rows": [{"day": "2026-01-12", "exercise": "squat", "sets": "80x10,10,9@2"}]}),
    "list.yaml": "rows:\n  - {day: 2026-01-12, exercise: squat, load_kg: 80, reps: [10, 10, 9], reserve: 2}\n",
    "rows.yaml": "rows:\n"
    + "".join(
        f"  - {{day: 2026-01-12, exercise: squat, set: {n}, load_kg: 80, reps: {r}, reserve: 2}}\n"
        for n, r in enumerate((10, 10, 9), start=1)
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WAYS)
def test_every_way_to_write_them_in_a_file_says_the_same(
    name: str, tmp_path: Path, book: CheckinBook
) -> None:
    path = tmp_path / name
    path.write_text(WAYS[name])
    history, _ = read_record(path, book)
    assert history.top_sets == (TopSet(DAY, SQUAT, 80, 10, 2, THREE[1:]),)


def test_so_many_sets_alike_are_so_many_sets(tmp_path: Path, book: CheckinBook) -> None:
    path = tmp_path / "r.csv"
    path.write_text("day,exercise,sets,load_kg,reps\n2026-01-12,squat,3,80,10\n")
    history, _ = read_record(path, book)
    assert history.top_sets[0].sets == (LiftSet(80, 10),) * 3


@pytest.mark.parametrize("cell", ["[63, 64]", "[63.5]", "[a]", "[]", "{kg: 63}"])
def test_a_list_stands_for_sets_alone(cell: str, tmp_path: Path, book: CheckinBook) -> None:
    path = tmp_path / "r.yaml"
    path.write_text(f"rows:\n  - {{day: 2026-01-12, weight_kg: {cell}}}\n")
    with pytest.raises(InputProblems):
        read_record(path, book)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("day,exercise,set,load_kg,reps\n2026-01-12,squat,1,80,10\n2026-01-12,squat,1,80,9\n",
         "r.csv:3: said-twice: set 1 of"),
        ("day,exercise,set,load_kg,reps\n2026-01-12,squat,0,80,10\n", "r.csv:2: impossible: set: 0; allowed"),
        ("day,exercise,load_kg,reps\n2026-01-12,squat,80,10\n2026-01-12,squat,80,9\n",
         "have a column `set`"),
        ("day,exercise,sets\n2026-01-12,squat,3\n", "r.csv:2: bad-set: `3` is no set"),
        ("day,exercise,sets\n2026-01-12,,80x10\n", "need the exercise"),
        ("day,sets\n2026-01-12,80x10\n", "need the column exercise"),
        ("day,exercise,sets,load_kg,reps\n2026-01-12,squat,3,80,10/9\n", "repetitions of 3 sets"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_line(
    text: str, told: str, tmp_path: Path, book: CheckinBook
) -> None:
    path = tmp_path / "r.csv"
    path.write_text(text)
    with pytest.raises(InputProblems) as caught:
        read_record(path, book)
    assert told.replace("r.csv", str(path)) in "\n".join(
        str(each) for each in caught.value.problems
    )


def test_pounds_hold_in_a_cell_of_sets_too(tmp_path: Path, book: CheckinBook) -> None:
    path = tmp_path / "r.csv"
    path.write_text("day,exercise,sets\n2026-01-12,squat,100 x 10\n")
    (line,) = read_record_sheet(path, book, DAY, UnitSystem.IMPERIAL).found
    assert line.entry.value == pytest.approx(45.359237)


def test_a_line_with_all_sets_comes_back_whole(tmp_path: Path) -> None:
    told = Entry("top_set", DAY, 80.0, SQUAT, 10, 2.0, THREE[1:])
    with open_records(str(tmp_path / "r.sqlite3"), DAY) as records:
        client = records.add("Ines Farrow", DAY, [entry_line(told, DAY)])
        (line,) = records.history(client)
    assert entry_of(line) == told
    assert history_of_entries([told]).top_sets == (TopSet(DAY, SQUAT, 80, 10, 2, THREE[1:]),)


def test_a_line_with_the_top_set_alone_is_written_as_ever() -> None:
    """So that hashes of older lines stay: the text as it was written before all sets could be told."""
    line = entry_line(Entry("top_set", DAY, 80.0, SQUAT, 10, 2.0), DAY)
    assert line.body == '{"repetitions":10,"reserve":2.0}'


@pytest.mark.parametrize(("load", "is_asked"), [(3.0, True), (31.0, True), (33.0, False)])
def test_sets_times_repetitions_in_place_of_a_load_are_asked_about(
    load: float, is_asked: bool, book: CheckinBook
) -> None:
    before = Entry("top_set", DAY - dt.timedelta(days=3), 80.0, SQUAT, 10, 2.0)
    told = Entry("top_set", DAY, load, SQUAT, 10, 2.0)
    (found,) = compare([told], {before.spot: before}, {}, book, DAY)
    assert bool(found.question) == is_asked
