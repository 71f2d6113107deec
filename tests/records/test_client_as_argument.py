"""A client's name goes wherever a case file goes, and means what stands in the record on that day."""

import csv
import json
from pathlib import Path

import pytest
from record_support import Command

RECORD = Path(__file__).parents[2] / "cases/records/four_days.csv"
LATER = "2026-03-08"


@pytest.fixture
def weeks(tmp_path: Path) -> Path:
    """Eight weeks of measures; what was agreed is left to the record."""
    told = ("day", "weight_kg", "energy_kcal", "sleep_hours", "waist_cm", "hip_cm")
    rows = csv.DictReader(RECORD.read_text("utf-8").splitlines())
    lines = [",".join(told), *(",".join(row[name] for name in told) for row in rows)]
    path = tmp_path / "weeks.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


@pytest.fixture
def told(whyplan: Command, ines: str, weeks: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """A client with eight weeks in the record."""
    assert whyplan("checkin", ines, "--from", str(weeks), on=LATER) == 0
    capsys.readouterr()
    return ines


@pytest.mark.parametrize(
    "words",
    [
        ("plan", "WHO", "--no-week"),
        ("plan", "WHO", "--no-week", "--for", "client"),
        ("plan", "WHO", "--no-week", "--format", "html"),
        ("week", "WHO"),
        ("phases", "WHO"),
        ("referral", "WHO"),
        ("why", "WHO", "food.target"),
        ("why-not", "WHO", "ENE-612"),
        ("what-if", "WHO", "sleep=5h"),
        ("flip", "WHO", "recovery.poor"),
        ("picture", "WHO", "phase.now"),
        ("exchange", "export", "WHO", "--to", "csv"),
    ],
    ids=" ".join,
)
def test_every_command_takes_a_client(
    whyplan: Command, told: str, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert whyplan(*(told if word == "WHO" else word for word in words), on=LATER) in {0, 1}
    shown = capsys.readouterr()
    assert shown.out.strip()
    assert "error" not in shown.err


def test_the_plan_of_a_client_is_that_of_the_case_with_the_same_record(
    whyplan: Command, told: str, weeks: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One way in and one way out: what is exported as a case file and a record gives the same plan."""
    out = tmp_path / "ines.json"
    assert whyplan("client", "export", told, "--case", "--out", str(out), on=LATER) == 0
    capsys.readouterr()
    found = []
    for words in ([told], [str(out), "--record", str(weeks)], [str(out)]):
        assert whyplan("plan", *words, "--no-week", "--format", "json", on=LATER) == 0
        facts = json.loads(capsys.readouterr().out)["facts"]
        found.append(facts["energy.maintenance_kcal_per_day"])
    from_record, from_files, without_weeks = found
    assert from_record == from_files != without_weeks


def test_wishes_for_the_week_stay_in_the_record(
    whyplan: Command, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A case file's week goes into the record and comes out of it."""
    cases = Path(__file__).parents[2] / "cases"
    text = (cases / "four_days.yaml").read_text("utf-8").partition("\nexpect:")[0]
    wishes = "week:\n  dislikes: [lunge_walking_dumbbell]\n  minutes_on: {tue: 45}\n"
    mine = tmp_path / "mine.yaml"
    mine.write_text(text.partition("\nweek:")[0].rstrip() + "\n" + wishes, "utf-8")
    assert whyplan("client", "add", "Ines Farrow", "--case", str(mine)) == 0
    assert (
        whyplan("client", "export", "ines-farrow", "--case", "--out", str(tmp_path / "o.json")) == 0
    )
    back = json.loads((tmp_path / "o.json").read_text("utf-8"))
    assert back["week"] == {"dislikes": ["lunge_walking_dumbbell"], "minutes_on": {"tue": 45}}
    capsys.readouterr()
    assert whyplan("week", "ines-farrow") == 0
    from_record = _sessions(capsys.readouterr().out)
    assert whyplan("week", str(mine)) == 0
    assert _sessions(capsys.readouterr().out) == from_record


def test_a_name_nobody_has_is_told_with_the_nearest(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ines
    assert whyplan("plan", "ines-farow", "--no-week") == 2
    assert "ines-farrow" in capsys.readouterr().err


def _sessions(sheet: str) -> str:
    """Return the sessions of a sheet: all between its head and how the block goes on."""
    return sheet.partition("Monday:")[2].partition("\nFinding the loads")[0]
