"""The commands as a user types them: files made, lines said, exit codes (0 fine, 1 finding, 2 bad input)."""

import csv
import io
import json
from pathlib import Path

import pytest

from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.exchange.week_csv import week_csv
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases/two_short_evenings.yaml")


@pytest.mark.parametrize("form", ["fhir", "csv"])
def test_out_and_in_again(
    kb: KnowledgeBase, form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sent, made = tmp_path / "sent", tmp_path / "case.yaml"
    assert main(["exchange", "export", CASE, "--to", form, "--with-name", "--out", str(sent)]) == 0
    assert "left out: the answer about thoughts of self-harm" in capsys.readouterr().err
    assert main(["exchange", "import", str(sent), "--from", form, "--out", str(made)]) == 0
    before, after = read_case(Path(CASE), kb), read_case(made, kb)
    assert (after.name, after.as_of) == (before.name, before.as_of)
    assert dict(after.answers) == {
        fact: value for fact, value in before.answers.items() if "self_harm" not in fact
    }
    # A case is never written over.
    assert main(["exchange", "import", str(sent), "--from", form, "--out", str(made)]) == 2
    assert "file-exists" in capsys.readouterr().err


def test_name_and_day_may_be_given(
    kb: KnowledgeBase, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sent, made = tmp_path / "sent.csv", tmp_path / "case.yaml"
    main(["exchange", "export", CASE, "--to", "csv", "--out", str(sent)])
    given = ["--name", "Someone Else", "--as-of", "2026-03-02"]
    assert main(["exchange", "import", str(sent), "--from", "csv", "--out", str(made), *given]) == 0
    case = read_case(made, kb)
    assert (case.name, case.as_of.isoformat()) == ("Someone Else", "2026-03-02")
    capsys.readouterr()
    for bad in (["--name", ""], ["--name", "two\nlines"], ["--as-of", "soon"]):
        out = str(tmp_path / "other.yaml")
        assert main(["exchange", "import", str(sent), "--from", "csv", "--out", out, *bad]) == 2
        assert len(capsys.readouterr().err.strip().splitlines()) == 1
        assert not Path(out).exists()


def test_bad_files_make_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad, out = tmp_path / "bad.csv", tmp_path / "case.yaml"
    bad.write_text("fact,value,unit\nas_of,2026-01-12\nclient.weight_kg,140,lb\nclient.goal,win\n")
    assert main(["exchange", "import", str(bad), "--from", "csv", "--out", str(out)]) == 2
    first, second = capsys.readouterr().err.strip().splitlines()
    assert first.startswith(f"{bad}:3: wrong-unit: `client.weight_kg` is in `lb`; allowed: `kg`")
    assert second.startswith(f"{bad}:4: unknown-choice: ")
    assert not out.exists()
    missing = str(tmp_path / "nothing.json")
    assert main(["exchange", "import", missing, "--from", "fhir", "--out", str(out)]) == 2
    assert "unreadable-file" in capsys.readouterr().err
    nowhere = str(tmp_path / "no/folder/x.json")
    assert main(["exchange", "export", CASE, "--to", "json", "--out", nowhere]) == 2
    assert "unwritable-file" in capsys.readouterr().err


def test_a_case_is_never_written_over_by_its_own_export(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "case.yaml"
    case.write_text('name: X\nas_of: "2026-01-12"\nanswers: {}\n')
    before = case.read_bytes()
    for command in (
        ["exchange", "export", str(case), "--to", "json"],
        ["plan", str(case), "--format", "json", "--no-week"],
    ):
        assert main([*command, "--out", str(case)]) == 2
        assert "file-exists: is read by this command" in capsys.readouterr().err
    assert case.read_bytes() == before


def test_after_a_yes_about_self_harm_no_file_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case, out = tmp_path / "case.yaml", tmp_path / "out"
    case.write_text('name: X\nas_of: "2026-01-12"\nanswers: {screen.self_harm_thoughts: true}\n')
    for form in ("fhir", "csv", "json"):
        assert main(["exchange", "export", str(case), "--to", form, "--out", str(out)]) == 1
        assert "nothing was written to a file" in capsys.readouterr().out
        assert not out.exists()
    table = tmp_path / "t.csv"
    table.write_text("fact,value\nas_of,2026-01-12\nscreen.self_harm_thoughts,yes\n")
    assert main(["exchange", "import", str(table), "--from", "csv", "--out", str(out)]) == 1
    assert "nothing was written to a file" in capsys.readouterr().out
    assert not out.exists()


def test_the_week_is_a_table_of_exercises(programme: Programme) -> None:
    rows = list(csv.DictReader(io.StringIO(week_csv(programme).decode("utf-8-sig"))))
    wanted = [
        (session.day, line.exercise, str(line.sets), str(line.low), str(line.rest_s))
        for session in programme.sessions
        for line in session.lines
    ]
    found = [(r["day"], r["exercise_id"], r["sets"], r["low"], r["rest_s"]) for r in rows]
    assert found == wanted
    first = programme.sessions[0].lines[0]
    assert first.substitutes[0].name in rows[0]["instead"]


def test_no_week_no_table(capsys: pytest.CaptureFixture[str]) -> None:
    stopped = str(ROOT / "cases/stop_today.yaml")
    assert main(["exchange", "export", stopped, "--to", "csv", "--what", "week"]) == 1
    assert main(["exchange", "export", CASE, "--to", "fhir", "--what", "week"]) == 2
    assert "--what: bad-value" in capsys.readouterr().err


@pytest.mark.slow
def test_the_week_as_a_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "week.csv"
    command = ["exchange", "export", CASE, "--to", "csv", "--what", "week", "--out", str(out)]
    assert main(command) == 0
    rows = list(csv.DictReader(io.StringIO(out.read_bytes().decode("utf-8-sig"))))
    assert main(["plan", CASE, "--format", "json"]) == 0
    sessions = json.loads(capsys.readouterr().out)["programme"]["sessions"]
    wanted = [
        (
            s["day"],
            line["exercise"],
            line["name"],
            str(line["sets"]),
            [str(n) for n in line["reps"]],
        )
        for s in sessions
        for line in s["lines"]
    ]
    found = [
        (r["day"], r["exercise_id"], r["exercise"], r["sets"], [r["low"], r["high"]]) for r in rows
    ]
    assert found == wanted


def test_figures_the_screen_withholds_are_no_measures(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Body mass index (LOINC 39156-5) is worked out, so it goes where body measures go."""
    codes = {}
    for name in ("four_days", "refer_first"):
        out = tmp_path / name
        main(
            [
                "exchange",
                "export",
                str(ROOT / f"cases/{name}.yaml"),
                "--to",
                "fhir",
                "--out",
                str(out),
            ]
        )
        main(["plan", str(ROOT / f"cases/{name}.yaml"), "--no-week", "--format", "json"])
        facts = json.loads(capsys.readouterr().out)["facts"]
        codes[name] = ("39156-5" in out.read_text(), "body.bmi" in facts)
    assert codes == {"four_days": (True, True), "refer_first": (False, False)}
