"""One reader of dated rows: three forms alike, every fault with its line, both commands the same files."""

import datetime as dt
import json
from pathlib import Path

import pytest
from record_support import FOUR_DAYS, ROOT, Command

from assistant.cli.main import main
from assistant.cli.record_file import last_day, read_record
from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.quantities import UnitSystem
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
from assistant.model.knowledge import KnowledgeBase

HEADER = (
    "day,weight_kg,energy_kcal,protein_g,waist_cm,exercise,load_kg,repetitions,reserve,session,"
)
ROWS = (
    HEADER + "joint,pain_0_to_10,sleep_hours,mood_1_to_5,period_started,agreed_kcal,block_started\n"
    "2026-01-13,63.4,,,,,,,,done,knee,3,7.5,4,true,,\n"
    "2026-01-12,63.5,2150,105,72,barbell row,60,8,2,,,,,,,2300,true\n"
)


@pytest.fixture(scope="module")
def book(kb: KnowledgeBase) -> CheckinBook:
    return checkin_book(kb, dt.date(2026, 1, 12))


def _problems(path: Path, book: CheckinBook) -> list[str]:
    with pytest.raises(InputProblems) as caught:
        read_record(path, book)
    return [str(problem) for problem in caught.value.problems]


def test_csv_yaml_and_json_hold_the_same(tmp_path: Path, book: CheckinBook) -> None:
    table = tmp_path / "r.csv"
    table.write_bytes(b"\xef\xbb\xbf" + ROWS.encode())
    rows = [
        {"day": "2026-01-13", "weight_kg": 63.4, "session": "done", "joint": "knee",
         "pain_0_to_10": 3, "sleep_hours": 7.5, "mood_1_to_5": 4, "period_started": True},
        {"day": "2026-01-12", "weight_kg": 63.5, "energy_kcal": 2150, "protein_g": 105,
         "waist_cm": 72, "exercise": "barbell row", "load_kg": 60, "repetitions": 8, "reserve": 2,
         "agreed_kcal": 2300, "block_started": True},
    ]  # fmt: skip
    document, text = tmp_path / "r.json", tmp_path / "r.yaml"
    document.write_text(json.dumps({"rows": rows}), "utf-8")
    text.write_text(
        "name: Ines Farrow\nrows:\n" + "".join(f"  - {json.dumps(r)}\n" for r in rows), "utf-8"
    )
    history, _ = read_record(table, book)
    assert history == read_record(document, book)[0] == read_record(text, book)[0]
    first, second = history.weighings[0].day, history.weighings[1].day
    assert history.weighings == (Weighing(first, 63.5), Weighing(second, 63.4))
    assert history.eating == (DayOfEating(first, 2150, 105),)
    assert history.girths == (Girth(first, "waist", 72),)
    assert history.top_sets == (TopSet(first, "row_bent_over_barbell", 60, 8, 2),)
    assert history.sessions == (SessionMark(second, done=True),)
    assert history.pains == (Pain(second, "knee", 3),)
    assert history.notes == (DayNote(second, sleep_hours=7.5, mood_1_to_5=4, cycle_start=True),)
    assert history.agreements == (Agreement(first, 2300, block_starts=True),)
    assert last_day(history) == second


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("day,sleep,wieght_kg\n2026-01-12,7,63\n", ":1: unknown-column: the column `wieght_kg` is not known; did you mean `weight`?"),
        ("day,weight_kg\n2026-13-01,63\n", ":2: bad-date: `2026-13-01` is not a date; write it like 2026-01-31"),
        ("day,weight_kg\n02/03/2026,63\n", ":2: two-dates: `02/03/2026` can mean 2026-02-03 or 2026-03-02; say which with --dates"),
        ("day,weight_kg\n2026-01-12,635\n", ":2: impossible: weight_kg: 635 is not possible; allowed: 30 to 250 kg"),
        ("day,weight_kg\n2026-01-12,nan\n", ":2: bad-number: weight_kg:"),
        ("day,mood_1_to_5\n2026-01-12,3.5\n", ":2: not-whole: mood_1_to_5: `3.5` is not a whole number; allowed: 1 to 5"),
        ("day,session\n2026-01-12,perhaps\n", ":2: bad-number: session: `perhaps` is not a number"),
        ("weight_kg\n63\n", ":1: no-date-column: there is no column for the day"),
        ("day,weight_kg\n,63\n", ":2: no-date: this line has values but no day"),
        ("day,exercise\n2026-01-12,squat\n", ":1: missing-column: a top set needs three columns"),
        ("day,reserve\n2026-01-12,2\n", ":1: missing-column: a top set needs three columns"),
        ("day,exercise,load,reps,rir\n2026-01-12,,,,2\n", ":2: half-a-set"),
        ("day,exercise,load,reps\n2026-01-12,rowing boat,60,8\n", ":2: unknown-exercise: `rowing boat` is not in the book"),
        ("day,weight_kg\n2026-01-12,63,64\n", ":2: too-many-cells"),
        ("day,joint,pain_0_to_10\n2026-01-12,tail,8\n", ":2: bad-pain: `tail` is not a joint here; allowed: knee, low back,"),
        ("day,joint,pain_0_to_10\n2026-01-12,knee,\n", ":2: half-a-pain"),
        ("day,joint,pain_0_to_10\n2026-01-12,knee,11\n", ":2: impossible: knee: 11; allowed: a whole number from 0 to 10"),
        ("day,joint\n2026-01-12,knee\n", ":1: missing-column: a pain needs two columns"),
        ("day,seen\n2026-01-12,yes\n", ":1: missing-column: `seen` needs the column referral"),
        ("day,referral,seen\n2026-01-12,,yes\n", ":2: half-a-referral"),
        ("day,referral\n2026-01-12,plumber\n", ":2: unknown-role: `plumber` is not a role here; allowed:"),
        ("day,referral,seen\n2026-01-12,physician,soon\n", ":2: bad-value: seen: `soon` is not allowed; allowed: yes,"),
        ("day,swelling\n2026-01-12,maybe\n", ":2: bad-number: swelling: `maybe` is not a number"),
        ("day,agreed_kcal\n2026-01-12,200\n", ":2: impossible: agreed kcal: 200; allowed: a number from 800 to 7000"),
        ("day,agreed_phase\n2026-01-12,bulk\n", ":2: bad-value: agreed_phase: `bulk` is not allowed; allowed: hold, build, cut"),
        ("day,easier_week\n2026-01-12,perhaps\n", ":2: bad-value: easier_week:"),
        ("day,urgent_signs_asked\n2026-01-12,yes\n", ":2: bad-value: urgent_signs_asked: `yes` is not allowed; allowed: clear, open"),
        ("day,weight_kg\n2026-01-12,63\n2026-01-12,64\n", ":3: said-twice: body weight 64 kg on 2026-01-12, but line 2 says"),
    ],
)  # fmt: skip
def test_a_faulty_row_is_told_with_its_line(
    tmp_path: Path, book: CheckinBook, rows: str, told: str
) -> None:
    path = tmp_path / "r.csv"
    path.write_text(rows, "utf-8")
    (line,) = _problems(path, book)
    assert line.startswith(f"{path}{told}")


def test_all_faults_are_told_at_once_and_other_files_refused(
    tmp_path: Path, book: CheckinBook
) -> None:
    path = tmp_path / "r.csv"
    path.write_text("day,weight_kg\n2026-01-12,1\n2026-13-01,63\n", "utf-8")
    assert len(_problems(path, book)) == 2
    path.write_bytes(b"day,weight_kg\n2026-01-12,\xff\n")
    assert "bad-number" in _problems(path, book)[0]
    assert "no-file" in _problems(tmp_path / "none.csv", book)[0]
    text = tmp_path / "r.yaml"
    for wrong in ("rows: 3\n", "rows: [3]\n", "row: []\n"):
        text.write_text(wrong, "utf-8")
        assert "bad-type" in _problems(text, book)[0]
    text.write_text("rows:\n  - {day: 2026-01-12, weight_kg: true}\n", "utf-8")
    assert _problems(text, book)[0].startswith(f"{text}:2: bad-number: weight_kg: `true`")


def test_a_file_says_what_was_asked_and_who_was_seen(tmp_path: Path, book: CheckinBook) -> None:
    """Urgent signs asked after a pain close it until the next one; only a yes closes a referral."""
    path = tmp_path / "r.csv"
    head = "day,joint,pain_0_to_10,urgent_signs_asked,swelling,referral,seen\n"
    rows = "2026-01-12,low back,8,,,physician,\n2026-01-13,,,clear,no,,\n2026-01-14,,,,,physician,not yet\n"
    path.write_text(head + rows, "utf-8")
    history, _ = read_record(path, book)
    first, second, third = (dt.date(2026, 1, n) for n in (12, 13, 14))
    assert history.pains == (Pain(first, "low_back", 8, asked_clear=True),)
    assert history.signs == (SignMark(second, "swelling", felt=False),)
    assert history.referrals == (OpenReferral("physician", first, "not yet", third),)
    path.write_text(head + rows + "2026-01-15,knee,7,,,physician,yes\n", "utf-8")
    history, _ = read_record(path, book)
    assert [pain.asked_clear for pain in history.pains] == [True, False]
    assert history.referrals == ()
    path.write_text(head + rows + "2026-01-15,,,open,,,\n", "utf-8")
    assert [pain.asked_clear for pain in read_record(path, book)[0].pains] == [False]


def test_a_comma_is_a_decimal_mark_where_the_column_shows_it(
    tmp_path: Path, book: CheckinBook
) -> None:
    path = tmp_path / "r.csv"
    path.write_text('day,weight_kg\n2026-01-12,"63,5"\n', "utf-8")
    assert [row.weight_kg for row in read_record(path, book)[0].weighings] == [63.5]


ENGLISH = (
    "Date;Body weight (lb);Waist (in);Calories;Protein;Training;Lift;Load (lb);Reps;RIR;Knee pain;Period\n"
    "5 Jan 2026;140;28.5;2,150;105;done;squat;176;8;2;3;\n"
    "6 Jan 2026;139.6;;;;no;;;;;;yes\n"
)
SAMPLES = {
    "shipped": (ROOT / "cases/records/four_days.csv").read_text("utf-8"),
    "columns by their ids": ROWS,
    "columns as people call them": ENGLISH,
    "asked and seen": (
        "day,weight_kg,joint,pain_0_to_10,urgent_signs_asked,swelling,referral,seen\n"
        "2026-01-05,63.4,low back,4,,,physician,\n2026-01-06,63.2,,,clear,no,,\n"
        "2026-01-07,63.1,,,,,physician,not yet\n"
    ),
}


@pytest.mark.parametrize("text", SAMPLES.values(), ids=SAMPLES)
def test_both_commands_read_the_same_file_alike(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str,
    book: CheckinBook,
) -> None:  # fmt: skip
    """What a check-in keeps of a file is what a review of the file measures."""
    path = tmp_path / "weeks.csv"
    path.write_text(text, "utf-8")
    history, _ = read_record(path, book)
    assert main(["review", str(FOUR_DAYS), "--record", str(path), "--as-of", "2026-03-08"]) in {
        0,
        1,
    }
    assert "weight" in capsys.readouterr().out
    assert whyplan("checkin", ines, "--from", str(path), "--sure", on="2026-03-09") == 0
    told = capsys.readouterr().out
    assert ("what was agreed is not taken in" in told) == bool(history.agreements)
    assert ("whether urgent signs were asked is not taken in" in told) == ("urgent" in text)
    whyplan("client", "export", ines)
    lines = json.loads(capsys.readouterr().out)["history"]
    kept = {
        (line["measure"], line["day"], line.get("detail", "")): line["value"]
        for line in lines
        if line["kind"] == "entry"
    }
    weights = {("weight_kg", row.day.isoformat(), ""): row.weight_kg for row in history.weighings}
    girths = {("girth_cm", row.day.isoformat(), row.site): row.girth_cm for row in history.girths}
    sets = {("top_set", row.day.isoformat(), row.exercise): row.load_kg for row in history.top_sets}
    pains = {("pain", row.day.isoformat(), row.joint): row.pain_0_to_10 for row in history.pains}
    for measured in (weights, girths, sets, pains):
        assert measured == {spot: v for spot, v in kept.items() if spot in measured}
    counted = (weights, girths, sets, pains, history.eating, history.sessions, history.signs)
    notes = ("sleep_hours", "mood_1_to_5", "protein_g", "cycle_start", "referral")
    assert len(kept) == sum(map(len, counted)) + sum(m in notes for m, _, _ in kept)


def test_both_commands_refuse_the_same_file_in_the_same_words(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "weeks.csv"
    path.write_text("day,weight_kg,mood\n2026-01-05,630,4\n2026-01-06,63,9\nsoon,63,\n", "utf-8")
    assert main(["review", str(FOUR_DAYS), "--record", str(path)]) == 2
    reviewed = capsys.readouterr().err.splitlines()
    assert len(reviewed) == 3
    assert whyplan("checkin", ines, "--from", str(path)) == 2
    assert capsys.readouterr().err.splitlines()[:3] == reviewed


def test_pounds_and_the_order_of_dates_are_said_alike(tmp_path: Path, book: CheckinBook) -> None:
    """A pound is 0.45359237 kg exactly (international agreement of 1959); an id holds its own unit."""
    path = tmp_path / "weeks.csv"
    path.write_text("date,weight,waist_cm\n02/03/2026,140,72\n", "utf-8")
    history, _ = read_record(path, book, UnitSystem.IMPERIAL, "dmy")
    assert [row.day for row in history.weighings] == [dt.date(2026, 3, 2)]
    assert history.weighings[0].weight_kg == pytest.approx(140 * 0.45359237)
    assert history.girths[0].girth_cm == 72
    path.write_text("date,weight_kg\n2026-03-02,63\n", "utf-8")
    history, _ = read_record(path, book, UnitSystem.IMPERIAL)
    assert history.weighings[0].weight_kg == 63


def test_the_shipped_record_reads(book: CheckinBook) -> None:
    history, _ = read_record(ROOT / "cases/records/four_days.csv", book)
    assert len(history.weighings) > 40
