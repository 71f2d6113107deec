"""`whyplan client`: add, list, show, export, forget, check."""

import datetime as dt
import json
import os
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest
from record_support import FOUR_DAYS, ROOT, Command

from assistant.cli.intake import draft_path
from assistant.knowledge.strict_yaml import parse_file
from assistant.model.entries import Entry
from assistant.records.projection import answers_line, entry_line, standing
from assistant.records.store import open_records


def test_a_client_from_first_to_last(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert whyplan("client", "list") == 0
    assert "Ines Farrow" in capsys.readouterr().out
    assert whyplan("client", "show", ines) == 0
    assert "screen none" in capsys.readouterr().out
    out = tmp_path / "held.json"
    assert whyplan("client", "export", ines, "--out", str(out)) == 0
    held = json.loads(out.read_text("utf-8"))
    answers = parse_file(FOUR_DAYS, "case", plain_dates=True).data["answers"]
    kept = held["history"][0]["content"]["answers"]
    assert set(kept) == set(answers) - {"screen.self_harm_thoughts"}
    assert kept["client.weight_kg"] == answers["client.weight_kg"]
    assert held["history"][2]["content"]["facts"]["review.next_date"] == "2026-02-16"
    assert whyplan("client", "export", ines, "--out", str(out)) == 2  # never written over
    assert whyplan("client", "check") == 0
    capsys.readouterr()
    assert whyplan("client", "forget", ines, "--yes") == 0
    assert whyplan("client", "show", ines) == 2
    assert whyplan("client", "check") == 0


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX")
def test_the_record_is_its_owners_alone(record: Path, ines: str) -> None:
    assert stat.S_IMODE(record.stat().st_mode) == 0o600
    assert stat.S_IMODE(record.parent.stat().st_mode) == 0o700
    assert ines
    for path in record.parent.iterdir():
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_new_answers_make_a_new_plan_and_the_old_ones_stay(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    cut = str(ROOT / "cases" / "slow_cut.yaml")
    assert whyplan("client", "update", ines, "--case", cut, on="2026-02-01") == 0
    capsys.readouterr()
    assert whyplan("client", "export", ines, on="2026-02-01") == 0
    history = json.loads(capsys.readouterr().out)["history"]
    assert [line["kind"] for line in history] == [
        "answers",
        "facts",
        "plan",
        "answers",
        "facts",
        "plan",
    ]
    assert history[0]["content"]["answers"]["client.goal"] == "gain_muscle"
    assert history[3]["content"]["answers"]["client.goal"] == "lose_fat"
    assert history[5]["content"]["facts"]["phase.now"] == "cut"


def test_an_agreement_grows_old_in_the_record(
    whyplan: Command, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Told in January as eight months old: in March it still holds, in June it is more than a year old."""
    case = tmp_path / "case.yaml"
    text = FOUR_DAYS.read_text("utf-8").partition("expect:")[0]
    told = {"screen.disease": "[heart]", "screen.cleared_months_ago": "8"}
    kept = [line for line in text.splitlines() if line.strip().partition(":")[0] not in told]
    kept += [f"  {fact}: {value}" for fact, value in told.items()]
    case.write_text("\n".join(kept) + "\n", "utf-8")
    assert whyplan("client", "add", "Somebody", "--case", str(case), on="2026-01-12") == 0
    for on, waits in (("2026-03-12", False), ("2026-06-12", True)):
        capsys.readouterr()
        whyplan("review", "Somebody", on=on)
        assert ("until the doctor agrees" in " ".join(capsys.readouterr().out.split())) is waits


@pytest.mark.parametrize(
    ("later", "holds"),
    [
        ({"screen.falls_last_year": 0.0}, True),
        ({"screen.medicines": ["beta_blocker"]}, True),
        ({"screen.medicines": ["beta_blocker", "lithium"]}, False),
        ({"screen.disease": ["heart", "kidney"]}, False),
        ({"screen.conditions": ["glaucoma"]}, False),
        ({"screen.disease": ["heart", "kidney"], "screen.cleared_months_ago": 0.0}, True),
    ],
)
def test_what_is_told_later_ends_an_agreement_by_itself(
    later: dict[str, object],
    holds: bool,
    whyplan: Command,
    record: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A check-in asks single questions; nobody need remember to say that something has changed."""
    case = tmp_path / "case.yaml"
    text = FOUR_DAYS.read_text("utf-8").partition("expect:")[0]
    told = {
        "screen.disease": "[heart]",
        "screen.cleared_months_ago": "2",
        "screen.medicines": "[beta_blocker]",
    }
    kept = [line for line in text.splitlines() if line.strip().partition(":")[0] not in told]
    kept += [f"  {fact}: {value}" for fact, value in told.items()]
    case.write_text("\n".join(kept) + "\n", "utf-8")
    assert whyplan("client", "add", "Somebody", "--case", str(case)) == 0
    day = dt.date(2026, 2, 1)
    with open_records(str(record), day) as records:
        records.append(records.client("Somebody"), [answers_line(later, day)])
    capsys.readouterr()
    whyplan("review", "Somebody", on="2026-02-02")
    assert ("until the doctor agrees" in " ".join(capsys.readouterr().out.split())) is not holds


@pytest.mark.parametrize(
    ("fact", "told", "cleared"),
    [
        ("screen.eating_disorder", "current_no_care", "never"),
        ("screen.eats_past_stopping", "true", "false"),
        ("screen.purging_or_misuse", "[laxatives]", "[]"),
        ("screen.gives_up_life_for_physique", "true", "false"),
    ],
)
@pytest.mark.parametrize(
    ("later", "remembered"), [("2026-01-12", False), ("2026-01-20", True), ("2026-04-20", False)]
)
def test_an_answer_about_eating_that_is_taken_back_is_talked_over(
    fact: str,
    told: str,
    cleared: str,
    later: str,
    remembered: bool,
    whyplan: Command,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    """Told on the 12th of January; cleared the same day it is a slip; looked at on the 20th or weeks later."""
    text = FOUR_DAYS.read_text("utf-8").partition("expect:")[0]
    kept = [line for line in text.splitlines() if line.strip().partition(":")[0] != fact]
    for name, value in (("told", told), ("cleared", cleared)):
        said = [*kept, f"  {fact}: {value}", ""]
        (tmp_path / f"{name}.yaml").write_text("\n".join(said), "utf-8")
    first, second = (str(tmp_path / f"{name}.yaml") for name in ("told", "cleared"))
    assert whyplan("client", "add", "Somebody", "--case", first) == 0
    on = min(later, "2026-01-20")
    assert whyplan("client", "update", "Somebody", "--case", second, on=on) == 0
    capsys.readouterr()
    whyplan("review", "Somebody", on=max(later, "2026-01-20"))
    out = capsys.readouterr().out
    assert ("Talk it over in person" in out) is remembered


def test_nothing_is_written_after_a_yes_to_the_question_about_self_harm(
    whyplan: Command, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    case = tmp_path / "case.yaml"
    text = FOUR_DAYS.read_text("utf-8").partition("expect:")[0]
    lines = [line for line in text.splitlines() if "self_harm" not in line]
    case.write_text("\n".join([*lines, "  screen.self_harm_thoughts: true\n"]), "utf-8")
    assert whyplan("client", "add", "Somebody", "--case", str(case)) == 1
    assert "nothing was written" in capsys.readouterr().out
    assert whyplan("client", "list") == 0
    assert "Somebody" not in capsys.readouterr().out


def test_forgetting_takes_an_unfinished_intake_along(
    whyplan: Command, ines: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    path = draft_path("Ines Farrow")
    path.parent.mkdir(parents=True)
    for name, gone in (("Ines Färrow", False), ("Ines Farrow", True)):
        path.write_text(json.dumps({"kind": "draft", "name": name}) + "\n", "utf-8")
        assert whyplan("client", "forget", ines, "--yes") == 0
        assert path.exists() is not gone
        assert whyplan("client", "add", "Ines Farrow", "--case", str(FOUR_DAYS)) == 0


def test_forgetting_asks_first(
    whyplan: Command, ines: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("builtins.input", lambda _: "no")
    assert whyplan("client", "forget", ines) == 1
    assert whyplan("client", "show", ines) == 0
    monkeypatch.setattr("builtins.input", lambda _: ines)
    assert whyplan("client", "forget", ines) == 0
    assert whyplan("client", "show", ines) == 2


def test_a_changed_history_is_a_finding(
    whyplan: Command, ines: str, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ines
    with closing(sqlite3.connect(record)) as other:
        other.execute("UPDATE history SET body = replace(body, '63.5', '58.5')")
        other.commit()
    assert whyplan("client", "check") == 1
    assert "ines-farrow:1: history-changed" in capsys.readouterr().out


def test_what_was_measured_lately_takes_the_place_of_older_answers(
    whyplan: Command, ines: str, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Mean of 64.1, 64.3 and 64.5; two weighings alone, or a week ago, would change nothing."""
    on = dt.date(2026, 3, 2)
    said = [
        Entry("weight_kg", on - dt.timedelta(days=n), value)
        for n, value in ((0, 64.1), (3, 64.3), (6, 64.5), (7, 60.0))
    ]
    said += [
        Entry("girth_cm", on - dt.timedelta(days=20), 71.0, "waist"),
        Entry("girth_cm", on - dt.timedelta(days=5), 71.5, "waist"),
        Entry("girth_cm", on - dt.timedelta(days=40), 90.0, "hip"),
    ]
    with open_records(str(record), on) as records:
        client = records.client(ines)
        records.append(client, [entry_line(entry, on) for entry in said[2:]])
        assert whyplan("client", "update", ines, on="2026-02-23") == 0
        records.append(client, [entry_line(entry, on) for entry in said])
        assert whyplan("client", "update", ines, on=on.isoformat()) == 0
        answers = standing(records.history(client)).answers
    assert answers["client.weight_kg"] == pytest.approx(64.3)
    assert answers["client.waist_cm"] == 71.5
    assert answers["client.hip_cm"] == 99
    assert "takes the place of the older answer: body weight, waist" in capsys.readouterr().out
