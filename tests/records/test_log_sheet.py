"""The sheet to print and fill in: every line, a column a week, dated, what was told already in it."""

import re
from pathlib import Path

import pytest
from record_support import FOUR_DAYS, ROOT, Command

from assistant.cli.main import main

DAY = "2026-01-24"
SHEET = ("--log-sheet",)
X = "\N{MULTIPLICATION SIGN}"


@pytest.fixture
def told(whyplan: Command, ines: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    path = tmp_path / "sets.csv"
    path.write_text('day,exercise,sets\n2026-01-19,Hip thrust machine,"80x12,12,12,12@2"\n')
    assert whyplan("checkin", ines, "--from", str(path), on=DAY) == 0
    capsys.readouterr()
    return ines


def test_the_text_has_a_row_of_blanks_for_each_week(
    whyplan: Command, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert whyplan("week", told, *SHEET, on=DAY) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[:2] == [
        "Log sheet for Ines Farrow",
        "From 12 January 2026, 5 weeks with these exercises (a block).",
    ]
    start = next(n for n, row in enumerate(rows) if row.startswith("1. Hip thrust machine"))
    assert re.search(rf": [34] {X} 8\N{{EN DASH}}12, 2 left, rest 120 s, 85 kg$", rows[start])
    # Half and four fifths of the load in steps of 5 kg, worked out by hand.
    assert (
        rows[start + 1].strip()
        == "Warm up: 45 kg \N{MULTIPLICATION SIGN} 8, 70 kg \N{MULTIPLICATION SIGN} 4"
    )
    assert rows[start + 2].strip() == "85 kg: every set reached 12, so one step more."
    weeks = rows[start + 3 : start + 8]
    assert [week[:14].strip() for week in weeks] == [
        "12 January", "19 January", "26 January", "2 February", "9 February",
    ]  # fmt: skip
    assert weeks[1].count(f"80 kg {X} 12") == 4
    sets = int(rows[start].partition(": ")[2][0])
    assert [week.count("_____ x ___") for week in weeks] == [sets, 0, sets, sets, sets]
    assert all(len(row) <= 88 for row in rows)
    assert "- Week 1, 12 January: leave 1 more (in reserve)" in rows


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_page_holds_every_line_and_no_script(
    language: str, whyplan: Command, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "sheet.html"
    words = ["week", told, *SHEET, "--format", "html", "--language", language, "--out", str(out)]
    assert whyplan(*words, on=DAY) == 0
    html = out.read_text("utf-8")
    assert "<script" not in html
    assert "http" not in html.replace("http-equiv", "")
    assert html.count("<section") == 4
    assert len(re.findall(f'<div class="set done">80 kg {X} 12</div>', html)) == 4
    assert len(re.findall('<th scope="col"><b>', html)) == 4 * 5
    assert ("Woche 5" in html) == (language == "de")
    assert 'lang="en">' not in html.replace("<html lang", "<html")  # nothing left untranslated
    capsys.readouterr()


def test_an_agreed_lighter_week_has_fewer_rows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = tmp_path / "r.csv"
    record.write_text(
        "day,weight_kg,block_started,easier_week\n2026-01-12,63,true,\n2026-01-26,63,,true\n"
    )
    words = ["week", str(FOUR_DAYS), *SHEET, "--record", str(record), "--as-of", "2026-01-27"]
    assert main(words) == 0
    text = capsys.readouterr().out
    assert "- Week 3, 26 January: lighter week: fewer sets, less load" in text
    first = text[text.index("1. Hip thrust machine") : text.index("2. ")]
    # The row under the name says how to warm up.
    (sets,) = map(int, re.findall(rf": (\d) {X} ", first.splitlines()[0]))
    # About half of the sets in the third week: two of three, and two of four.
    assert [row.count("_____ x ___") for row in first.splitlines()[2:]] == [
        sets,
        sets,
        2,
        sets,
        sets,
    ]


@pytest.mark.parametrize(
    "names",
    [("dumbbells_at_home", "stop_today"), pytest.param(("*",), marks=pytest.mark.slow)],
)
def test_a_hold_is_written_down_in_seconds(
    names: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    cases = sorted(path for name in names for path in (ROOT / "cases").glob(f"{name}.yaml"))
    texts = []
    for case in cases:
        main(["week", str(case), *SHEET])
        texts.append(capsys.readouterr().out)
    held = [text for text in texts if "____ s" in text]
    assert held
    refused = [case.stem for case, text in zip(cases, texts, strict=True) if "No log sheet" in text]
    assert "stop_today" in refused


@pytest.mark.parametrize(
    ("words", "told_word"),
    [
        (["--format", "html"], "--format"),
        (["--language", "de"], "--language"),
        (["--log-sheet", "--about", "squat"], "--about"),
        (["--log-sheet", "--missed", "mon"], "--missed"),
        (["--log-sheet", "--language", "xx"], "unknown-language"),
    ],
)
def test_options_that_do_not_go_together_are_one_line(
    words: list[str], told_word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["week", str(FOUR_DAYS), *words]) == 2
    said = capsys.readouterr()
    assert told_word in said.err
    assert said.out == ""
