"""A record file is read strictly: all three forms alike, every fault with its line."""

import datetime as dt
import json
from pathlib import Path

import pytest

from assistant.knowledge.record_file import last_day, read_record
from assistant.model.errors import InputProblems
from assistant.model.history import (
    Agreement,
    DayNote,
    DayOfEating,
    Girth,
    OpenReferral,
    Pain,
    SessionMark,
    SignMark,
    TopSet,
    Weighing,
)

HEADER = (
    "day,weight_kg,energy_kcal,protein_g,waist_cm,exercise,load_kg,repetitions,reserve,session,"
)
ROWS = (
    HEADER + "joint,pain_0_to_10,sleep_hours,mood_1_to_5,period_started,agreed_kcal,block_started\n"
    "2026-01-13,63.4,,,,,,,,done,knee,3,7.5,4,true,,\n"
    "2026-01-12,63.5,2150,105,72,row,60,8,2,,,,,,,2300,true\n"
)


def _problems(path: Path) -> list[str]:
    with pytest.raises(InputProblems) as caught:
        read_record(path)
    return [str(problem) for problem in caught.value.problems]


def test_csv_yaml_and_json_hold_the_same(tmp_path: Path) -> None:
    table = tmp_path / "r.csv"
    table.write_bytes(b"\xef\xbb\xbf" + ROWS.encode())
    rows = [
        {"day": "2026-01-13", "weight_kg": 63.4, "session": "done", "joint": "knee",
         "pain_0_to_10": 3, "sleep_hours": 7.5, "mood_1_to_5": 4, "period_started": True},
        {"day": "2026-01-12", "weight_kg": 63.5, "energy_kcal": 2150, "protein_g": 105,
         "waist_cm": 72, "exercise": "row", "load_kg": 60, "repetitions": 8, "reserve": 2,
         "agreed_kcal": 2300, "block_started": True},
    ]  # fmt: skip
    document, text = tmp_path / "r.json", tmp_path / "r.yaml"
    document.write_text(json.dumps({"rows": rows}), "utf-8")
    text.write_text(
        "name: Ines Farrow\nrows:\n" + "".join(f"  - {json.dumps(r)}\n" for r in rows), "utf-8"
    )
    history = read_record(table)
    assert history == read_record(document) == read_record(text)
    first, second = history.weighings[0].day, history.weighings[1].day
    assert history.weighings == (Weighing(first, 63.5), Weighing(second, 63.4))
    assert history.eating == (DayOfEating(first, 2150, 105),)
    assert history.girths == (Girth(first, "waist", 72),)
    assert history.top_sets == (TopSet(first, "row", 60, 8, 2),)
    assert history.sessions == (SessionMark(second, done=True),)
    assert history.pains == (Pain(second, "knee", 3),)
    assert history.notes == (DayNote(second, sleep_hours=7.5, mood_1_to_5=4, cycle_start=True),)
    assert history.agreements == (Agreement(first, 2300, block_starts=True),)
    assert last_day(history) == second


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("day,wieght_kg\n2026-01-12,63\n", ":2: unknown-column: `wieght_kg` is no column of a record; did you mean `weight_kg`?"),
        ("day,weight_kg\n12.01.2026,63\n", "bad-value: `day` is `12.01.2026`; allowed: a date such as 2026-01-31"),
        ("day,weight_kg\n2026-01-12,635\n", "`weight_kg` is `635`; allowed: a number from 30 to 250"),
        ('day,weight_kg\n2026-01-12,"63,5"\n', "`weight_kg` is `63,5`; allowed: a number from 30 to 250"),
        ("day,weight_kg\n2026-01-12,nan\n", "allowed: a number from 30 to 250"),
        ("day,mood_1_to_5\n2026-01-12,3.5\n", "allowed: a whole number from 1 to 5"),
        ("day,session\n2026-01-12,yes\n", "`session` is `yes`; allowed: done, missed"),
        ("weight_kg\n63\n", "missing-day: a row needs `day`"),
        ("day,exercise\n2026-01-12,row\n", "`exercise` goes with `load_kg` and `repetitions`; add it"),
        ("day,weight_kg\n2026-01-12,63,64\n", "too-many-cells"),
        ("day,joint,pain_0_to_10\n2026-01-12,tail,8\n", "`joint` is `tail`; allowed: knee, low_back,"),
        ("day,seen\n2026-01-12,yes\n", "`seen` goes with `referral`; add it"),
        ("day,swelling\n2026-01-12,maybe\n", "allowed: yes, no"),
    ],
)  # fmt: skip
def test_a_faulty_row_is_told_with_its_line(tmp_path: Path, rows: str, told: str) -> None:
    path = tmp_path / "r.csv"
    path.write_text(rows, "utf-8")
    (line,) = _problems(path)
    assert told in line
    assert line.startswith(f"{path}:2")


def test_all_faults_are_told_at_once_and_other_files_refused(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text("day,weight_kg\n2026-01-12,1\n2026-13-01,63\n", "utf-8")
    assert len(_problems(path)) == 2
    path.write_bytes(b"day,weight_kg\n2026-01-12,\xff\n")
    assert "not-utf-8" in _problems(path)[0]
    assert "missing-file" in _problems(tmp_path / "none.csv")[0]
    text = tmp_path / "r.yaml"
    for wrong in ("rows: 3\n", "rows: [3]\n", "row: []\n"):
        text.write_text(wrong, "utf-8")
        assert "bad-type" in _problems(text)[0]
    text.write_text("rows:\n  - {day: 2026-01-12, weight_kg: true}\n", "utf-8")
    assert "allowed: a number from 30 to 250" in _problems(text)[0]


def test_a_file_says_what_was_asked_and_who_was_seen(tmp_path: Path) -> None:
    """Urgent signs asked after a pain close it until the next one; only a yes closes a referral."""
    path = tmp_path / "r.csv"
    head = "day,joint,pain_0_to_10,urgent_signs_asked,swelling,referral,seen\n"
    rows = "2026-01-12,low back,8,,,physician,\n2026-01-13,,,clear,no,,\n2026-01-14,,,,,physician,not yet\n"
    path.write_text(head + rows, "utf-8")
    history = read_record(path)
    first, second, third = (dt.date(2026, 1, n) for n in (12, 13, 14))
    assert history.pains == (Pain(first, "low_back", 8, asked_clear=True),)
    assert history.signs == (SignMark(second, "swelling", felt=False),)
    assert history.referrals == (OpenReferral("physician", first, "not yet", third),)
    path.write_text(head + rows + "2026-01-15,knee,7,,,physician,yes\n", "utf-8")
    history = read_record(path)
    assert [pain.asked_clear for pain in history.pains] == [True, False]
    assert history.referrals == ()
    path.write_text(head + rows + "2026-01-15,,,open,,,\n", "utf-8")
    assert [pain.asked_clear for pain in read_record(path).pains] == [False]
