"""The commands as a user types them: review from a file and from the record, phases, bad input."""

import json
import time
from pathlib import Path

import pytest
from records import START, day, even

from assistant.cli.main import main
from assistant.measure import Person, Settings, measure

ROOT = Path(__file__).parents[2]
CASE, RECORD = str(ROOT / "cases/four_days.yaml"), str(ROOT / "cases/records/four_days.csv")


def test_review_of_the_shipped_record(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", CASE, "--record", RECORD]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Review for Ines Farrow\nAs of 2026-03-08\n")
    for part in ("Decision: ", "Pace of weight: ", "Maintenance, measured: ", "Tape, waist: 1 cm",
                 "nine times in ten", "Lift by lift",
                 "- waist: too early to tell, 1 cm is less than the 2 a tape can err; judge it on 2026-04-06."):  # fmt: skip
        assert part in text
    assert main(["review", CASE, "--record", RECORD, "--for", "client"]) == 0
    client = capsys.readouterr().out
    assert "Pace of weight" not in client
    assert "Lift by lift" not in client


def test_too_early_says_when(capsys: pytest.CaptureFixture[str]) -> None:
    main(["review", CASE, "--record", RECORD, "--as-of", "2026-02-01"])
    text = " ".join(capsys.readouterr().out.split())
    assert "Too early to tell after 3 weeks" in text
    assert "from 2026-02-15 on" in text


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([CASE], "no-record"),
        ([CASE, "--record", "none.csv"], "no-file"),
        ([CASE, "--record", RECORD, "--accept"], "leave out --record"),
        (["nobody", "--db", "DB"], "no-client"),
    ],
)
def test_bad_input_is_one_line(
    arguments: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["review", *[a.replace("DB", str(tmp_path / "r.db")) for a in arguments]]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert len(error.strip().splitlines()) == 1


def test_before_the_record_begins_there_is_no_review(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", CASE, "--record", RECORD, "--as-of", "2026-01-11"]) == 1
    assert "holds nothing up to 2026-01-11" in capsys.readouterr().out


def _gaining(case: str, folder: Path) -> list[str]:
    """Keep a client who gains fast for seven weeks; return the words that find the record."""
    where = ["--db", str(folder / "r.db")]
    rows = folder / "rows.csv"
    history = even(49, weight=63.5, kg_per_week=0.36, kcal=2500.0)
    text = "day,weight_kg,energy_kcal\n" + "".join(
        f"{w.day},{w.weight_kg:.2f},{e.energy_kcal:.0f}\n"
        for w, e in zip(history.weighings, history.eating, strict=True)
    )
    rows.write_text(text, "utf-8")
    for words in (
        ["client", "add", "Ines Farrow", "--case", case, *where, "--as-of", "2026-01-12"],
        ["checkin", "Ines Farrow", "--from", str(rows), "--sure", *where, "--as-of", "2026-03-01"],
    ):
        assert main(words) == 0
    return where


def test_an_accepted_review_is_agreed_from_then_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "case.yaml"
    heavier = Path(CASE).read_text("utf-8").replace("goal_weight_kg: 63", "goal_weight_kg: 70")
    case.write_text(heavier, "utf-8")
    where = _gaining(str(case), tmp_path)
    assert main(["review", "Ines Farrow", *where, "--as-of", "2026-03-01", "--accept"]) == 0
    first = capsys.readouterr().out
    assert "Decision: change food by one step." in first
    wanted = first.partition("Energy to aim for next: ")[2].partition(" kcal")[0]
    assert main(["review", "Ines Farrow", *where, "--as-of", "2026-03-02"]) == 0
    second = capsys.readouterr().out
    assert f"Food agreed: {wanted} kcal a day." in second
    assert "change food by one step." not in second  # it waits for the step to show
    assert main(["client", "update", "Ines Farrow", *where, "--as-of", "2026-03-03"]) == 0
    assert main(["review", "Ines Farrow", *where, "--as-of", "2026-03-03"]) == 0
    assert f"Food agreed: {wanted} kcal a day." in capsys.readouterr().out


def test_past_the_weight_named_it_is_asked_and_no_step_of_food_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Food goes to maintenance and stays there until the answer, so a step would be agreed and not hold."""
    where = _gaining(CASE, tmp_path)
    capsys.readouterr()
    main(["review", "Ines Farrow", *where, "--as-of", "2026-03-01", "--message"])
    message = " ".join(capsys.readouterr().out.split())
    assert "tell me which matters more now" in message
    assert "kcal" not in message
    main(["review", "Ines Farrow", *where, "--as-of", "2026-03-01", "--accept"])
    said = capsys.readouterr().out
    assert "Energy to aim for next" not in said
    assert "ask which comes first" in " ".join(said.split())
    shown = said.partition("energy to aim for: ")[2].partition("\n")[0].rpartition("-> ")[2]
    assert shown.endswith(" kcal a day")
    main(["plan", "Ines Farrow", *where, "--as-of", "2026-03-02", "--no-week", "--for", "client"])
    assert f"Eat about {shown}" in capsys.readouterr().out
    assert main(["phases", "Ines Farrow", *where, "--as-of", "2026-03-03"]) == 1


def test_who_never_told_anything_is_asked_how_it_goes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["--db", str(tmp_path / "r.db")]
    main(["client", "add", "Ines Farrow", "--case", CASE, *where, "--as-of", "2026-01-12"])
    capsys.readouterr()
    for on, is_silent in (("2026-01-18", False), ("2026-01-19", True), ("2026-02-09", True)):
        main(["review", "Ines Farrow", *where, "--as-of", on])
        text = " ".join(capsys.readouterr().out.split())
        assert ("Nothing was told for" in text) is is_silent
        assert "weeks of weights" not in text
        main(["review", "Ines Farrow", *where, "--as-of", on, "--message"])
        message = " ".join(capsys.readouterr().out.split())
        assert ("I have not heard from you for a while" in message) is is_silent
        assert "on course" not in message


def test_phases_are_laid_back_from_the_date(capsys: pytest.CaptureFixture[str]) -> None:
    """Calendar arithmetic by hand: 2026-08-01 less 12 weeks is May 9, less 3 more April 18."""
    assert main(["phases", CASE]) == 0
    text = capsys.readouterr().out
    for part in ("Build until 2026-04-18", "Hold from 2026-04-18 until 2026-05-09",
                 "Fat loss from 2026-05-09 until 2026-08-01: 12 weeks", "Weight to expect"):  # fmt: skip
        assert part in text
    assert main(["phases", CASE, "--for", "client"]) == 0
    assert " kg" not in capsys.readouterr().out
    assert main(["phases", str(ROOT / "cases/slow_cut.yaml")]) == 1  # no date


def test_the_phases_are_facts_of_the_plan(capsys: pytest.CaptureFixture[str]) -> None:
    main(["plan", CASE, "--format", "json"])
    facts = json.loads(capsys.readouterr().out)["facts"]
    assert facts["phase.hold_from"]["value"] == "2026-04-18"
    assert facts["phase.cut_from"]["value"] == "2026-05-09"
    band = facts["phase.weight_at_date_kg"]
    assert band["low"] < band["value"] < band["high"]


# The promise is half a second for a whole review, warm, with a year of data; measuring is its part
# that grows with the record.
def test_a_year_is_measured_quickly(settings: Settings) -> None:
    year = even(365, kg_per_week=0.05, percent_per_week=0.1)
    best = float("inf")
    for _ in range(3):
        before = time.process_time()
        found = measure(year, day(364), Person(60.0, 15.0), settings)
        best = min(best, time.process_time() - before)
    assert found is not None
    assert found.first_day == START
    assert best < 0.3
