"""`whyplan checkin --from`: all of it or told about; decisions on what stands already."""

import json
from pathlib import Path

import pytest
from record_support import Command

FILE = "date;weight\n2026-01-05;63,4\n2026-01-06;63,1\n"


def run(whyplan: Command, ines: str, path: Path, text: str, *words: str) -> int:
    path.write_text(text, "utf-8")
    return whyplan("checkin", ines, "--from", str(path), *words)


def stands(whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]) -> list[float]:
    capsys.readouterr()
    whyplan("client", "export", ines)
    lines = json.loads(capsys.readouterr().out)["history"]
    return [line["value"] for line in lines if line["kind"] == "entry"]


def test_decisions(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.csv"
    assert run(whyplan, ines, path, FILE) == 0
    assert stands(whyplan, ines, capsys) == [63.4, 63.1]
    assert run(whyplan, ines, path, FILE) == 0  # the same again changes nothing
    assert stands(whyplan, ines, capsys) == [63.4, 63.1]
    other = FILE.replace("63,1", "63,3") + "2026-01-07;63,2\n"
    assert run(whyplan, ines, path, other) == 2
    error = capsys.readouterr().err
    assert f"{path}:3: said-before: body weight 63.3 kg on 2026-01-06, but the record" in error
    assert "nothing was kept" in error
    assert stands(whyplan, ines, capsys) == [63.4, 63.1]
    assert run(whyplan, ines, path, other, "--keep") == 0
    assert stands(whyplan, ines, capsys) == [63.4, 63.1, 63.2]
    assert run(whyplan, ines, path, other, "--replace") == 0
    assert stands(whyplan, ines, capsys) == [63.4, 63.1, 63.2, 63.3]


def test_a_file_that_says_a_thing_twice(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, twice = tmp_path / "log.csv", FILE + "2026-01-06;63,9\n"
    assert run(whyplan, ines, path, twice) == 2
    assert f"{path}:4: said-twice" in capsys.readouterr().err
    assert run(whyplan, ines, path, twice, "--replace") == 0
    assert stands(whyplan, ines, capsys) == [63.4, 63.9]


def test_a_jump_is_asked_about(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """140 in a column without a unit is in range for kg, and not believed."""
    path, jump = tmp_path / "log.csv", FILE + "2026-01-07;140\n2026-01-08;63\n"
    assert run(whyplan, ines, path, jump) == 2
    assert f"{path}:4: doubtful" in capsys.readouterr().err
    assert run(whyplan, ines, path, jump, "--partly") == 1
    assert stands(whyplan, ines, capsys) == [63.4, 63.1, 63.0]
    assert run(whyplan, ines, path, jump, "--sure") == 0
    assert stands(whyplan, ines, capsys) == [63.4, 63.1, 63.0, 140.0]


def test_pounds_taken_for_kilograms_are_asked_about(
    whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The answer at the start was 63.5 kg and 72 cm; 140 and 28.3 without a unit fit pounds."""
    path, bare = tmp_path / "log.csv", "date,weight,waist\n2025-10-05,140,72\n"
    assert run(whyplan, ines, path, bare) == 2
    assert "63.5 kg was answered: is the unit right?" in capsys.readouterr().err
    inches = "date,weight,waist\n2025-10-05,140,28.3\n"
    assert run(whyplan, ines, path, inches, "--imperial") == 0
    assert stands(whyplan, ines, capsys) == pytest.approx([63.5029318, 71.882])


def test_options_that_need_a_file(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for option in ("--keep", "--replace", "--sure", "--partly"):
        assert whyplan("checkin", ines, option) == 2
        assert "--from" in capsys.readouterr().err
    assert whyplan("checkin", ines, "--from", "no-such.csv") == 2
    assert "no-file" in capsys.readouterr().err
    assert whyplan("checkin", "nobody", "--from", "no-such.csv") == 2
