"""Edits by hand in a case file: read with one clear line a fault, shown beside their line, signed for the coach.

That a client reads that a line was changed, and neither by whom nor the coach's own reason, is judgement.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main

ROOT = Path(__file__).parents[2]
SHORT = ROOT / "cases/two_short_evenings.yaml"
SIGNED = 'by: "Lena Marrow", reason: "wrist tired after work", since: "2026-01-12"'


@pytest.fixture
def typed(capsys: pytest.CaptureFixture[str]) -> Any:
    def run(*command: str) -> tuple[int, str, str]:
        code = main([*command])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return run


_first: dict[str, Any] = {}


@pytest.fixture
def first(typed: Any) -> dict[str, Any]:
    """The first line of the week without edits, and its day."""
    if not _first:
        session = json.loads(typed("plan", str(SHORT), "--format", "json")[1])["programme"][
            "sessions"
        ][0]
        _first.update(session["lines"][0], day=session["day"])
    return _first


@cache
def _text() -> str:
    return SHORT.read_text("utf-8")


def _with_edits(folder: Path, *edits: str) -> Path:
    path = folder / "case.yaml"
    listed = "".join(f"    - {{{edit}}}\n" for edit in edits)
    path.write_text(_text().replace("\nanswers:", f"\nweek:\n  edits:\n{listed}answers:", 1))
    return path


def _replaced(folder: Path, line: dict[str, Any]) -> Path:
    other = line["substitutes"][0]["exercise"]
    edit = f"replace: {line['exercise']}, other: {other}, days: [{line['day']}], {SIGNED}"
    never = f"never: {line['exercise']}, {SIGNED}"
    return _with_edits(folder, edit, never)


def test_the_coach_reads_what_was_changed_by_whom_and_why(
    first: dict[str, Any], typed: Any, tmp_path: Path
) -> None:
    case, other = _replaced(tmp_path, first), first["substitutes"][0]
    out = " ".join(typed("week", str(case))[1].split())
    what = f"{other['name']} in place of {first['name']} on {first['day']}"
    assert f"by hand: {what}: wrist tired after work (Lena Marrow, 2026-01-12)" in out
    assert f"- 1. {what}: wrist tired after work (Lena Marrow, 2026-01-12)" in out
    assert f"2. {first['name']} not again for this client: wrist tired after work" in out
    made = json.loads(typed("plan", str(case), "--format", "json")[1])["programme"]
    noted = [line for s in made["sessions"] for line in s["lines"] if "by_hand" in line]
    assert [line["exercise"] for line in noted] == [other["exercise"]]
    assert noted[0]["by_hand"] == [
        {
            "what": what,
            "by": "Lena Marrow",
            "reason": "wrist tired after work",
            "since": "2026-01-12",
        }
    ]
    assert first["exercise"] not in json.dumps(made["sessions"])
    page = typed("plan", str(case), "--format", "html")[1]
    assert f"by hand: {what}; wrist tired after work" in page.replace("By hand", "by hand")


@pytest.mark.parametrize("form", ["text", "json", "html"])
def test_the_client_reads_that_a_line_was_changed_and_no_name(
    form: str, first: dict[str, Any], typed: Any, tmp_path: Path
) -> None:
    case = _replaced(tmp_path, first)
    out = typed("plan", str(case), "--for", "client", "--format", form)[1]
    assert first["substitutes"][0]["name"] in out
    assert "Marrow" not in out
    assert "wrist tired" not in out
    assert ('"by_hand"' if form == "json" else "et by hand") in out


def test_of_the_price_the_client_reads_the_minutes_alone(
    first: dict[str, Any], typed: Any, tmp_path: Path
) -> None:
    many = f"sets: {first['exercise']}, numbers: [9], days: [{first['day']}], {SIGNED}"
    aside = f"add: {first['exercise']}, days: [sun], {SIGNED}"
    case = _with_edits(tmp_path, many, aside)
    coach, client = (
        " ".join(typed("plan", str(case), "--for", reader)[1].split())
        for reader in ("coach", "client")
    )
    for said in ("9 sets of", "are usual", "Put aside: "):
        assert said in coach
    assert "are usual" not in client
    assert "Put aside" not in client
    for reader in (coach, client):
        assert f"{first['day'].title()}: takes about " in reader


def test_the_clients_page_says_it_in_german(
    first: dict[str, Any], typed: Any, tmp_path: Path
) -> None:
    case = _replaced(tmp_path, first)
    page = typed("plan", str(case), "--for", "client", "--format", "html", "--language", "de")[1]
    assert "on Hand geändert" in page


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (
            f"romeve: row_chest_supported, {SIGNED}",
            "an edit names none of them; it is one of replace",
        ),
        (f"add: plank_front, pin: plank_front, days: [mon], {SIGNED}", "an edit names add and pin"),
        (f"remove: plank_frnt, {SIGNED}", "`remove`: `plank_frnt` is no exercise; did you mean"),
        (f"replace: plank_front, {SIGNED}", "`other`: `null` is no exercise"),
        (f"replace: plank_front, other: plank_front, {SIGNED}", "name another exercise"),
        (f"remove: plank_front, other: push_up, {SIGNED}", "`other` says nothing for `remove`"),
        (f"add: plank_front, {SIGNED}", "`days` is `[]`; allowed: a list of 1 to 7 days"),
        (f"move: plank_front, days: [mon], {SIGNED}", "`to`: `null` is no day"),
        (f"move: plank_front, days: [mon], to: mon, {SIGNED}", "`to` is `mon`, where it stands"),
        (
            f"remove: plank_front, days: [monday], {SIGNED}",
            "`days`: `monday` is no day; did you mean",
        ),
        (f"sets: plank_front, {SIGNED}", "allowed for `sets`: 1 whole number from 1 to 10"),
        (f"sets: plank_front, numbers: [0], {SIGNED}", "`numbers` is `[0]`; allowed for `sets`"),
        (f"sets: plank_front, numbers: [true], {SIGNED}", "`numbers` is `[True]`; allowed"),
        (f"repetitions: push_up, numbers: [12, 8], {SIGNED}", "the lower one comes first"),
        (f"repetitions: push_up, numbers: [8, 51], {SIGNED}", "2 whole numbers from 1 to 50"),
        (f"never: push_up, days: [mon], {SIGNED}", "`days` is `['mon']`; allowed: none"),
        (f"never: push_up, on_day: [mon], {SIGNED}", "`on_day` is no part of an edit"),
        (
            'never: push_up, by: "L. Marrow", since: "2026-01-12"',
            "`reason` is `null`; an edit needs",
        ),
        ('never: push_up, by: " ", reason: "x", since: "2026-01-12"', "`by` is ``; an edit needs"),
        (
            'never: push_up, by: "L", reason: "x", since: "12 Jan"',
            "`since` is `12 Jan`; allowed: a day",
        ),
    ],
)
def test_a_wrong_edit_is_one_clear_line_with_its_place(
    edit: str, said: str, typed: Any, tmp_path: Path
) -> None:
    path = _with_edits(tmp_path, edit)
    code, _, err = typed("week", str(path))
    assert code == 2
    assert len(err.splitlines()) == 1
    assert said in err
    assert err.startswith(f"{path}:")


def test_an_edit_of_a_day_nobody_trains_is_put_aside_and_said(
    first: dict[str, Any], typed: Any, tmp_path: Path
) -> None:
    path = _with_edits(tmp_path, f"add: {first['exercise']}, days: [sun], {SIGNED}")
    out = " ".join(typed("week", str(path))[1].split())
    assert "Put aside: " in out
    assert "sun is no training day; trained: " in out


def test_edits_travel_with_the_case_file(first: dict[str, Any], typed: Any, tmp_path: Path) -> None:
    case, place = _replaced(tmp_path, first), ["--db", str(tmp_path / "record.sqlite3")]
    assert typed("client", "add", "Ada Holt", "--case", str(case), *place)[0] == 0
    kept = json.loads(typed("client", "export", "ada-holt", "--case", *place)[1])
    assert kept["week"]["edits"] == [
        {
            "replace": first["exercise"],
            "other": first["substitutes"][0]["exercise"],
            "days": [first["day"]],
            "by": "Lena Marrow",
            "reason": "wrist tired after work",
            "since": "2026-01-12",
        },
        {
            "never": first["exercise"],
            "by": "Lena Marrow",
            "reason": "wrist tired after work",
            "since": "2026-01-12",
        },
    ]
