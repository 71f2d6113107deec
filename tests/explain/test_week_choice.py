"""Why this exercise on this day and not another: points and prices against a count of their own."""

import contextlib
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main
from assistant.knowledge.strict_yaml import parse_file

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases" / "four_days.yaml")


def _said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    assert main(list(arguments)) == code
    captured = capsys.readouterr()
    return captured.out + captured.err


def _joined(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(scope="module")
def earns() -> dict[str, dict[str, float]]:
    """What each exercise earns, as it stands in the book's file."""
    rows = parse_file(ROOT / "rules" / "exercises.yaml", "exercises.yaml").data["exercises"]
    return {row["id"]: {**row["primary"], **row["secondary"]} for row in rows}


@pytest.fixture(scope="module")
def week() -> dict[str, list[dict[str, Any]]]:
    """The lines of the case's week by day, as the plan's JSON gives them."""
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        assert main(["plan", CASE, "--format", "json"]) == 0
    sessions = json.loads(told.getvalue())["programme"]["sessions"]
    return {session["day"]: session["lines"] for session in sessions}


@pytest.fixture
def back_line(
    week: dict[str, list[dict[str, Any]]], earns: dict[str, dict[str, float]]
) -> tuple[str, dict[str, Any]]:
    """The first big lift for the lats of the upper day, and the day."""
    line = next(line for line in week["tue"] if earns[line["exercise"]].get("lats", 0) == 1)
    return "tue", line


def test_the_points_add_up_and_each_names_the_number_that_gives_it(
    capsys: pytest.CaptureFixture[str], back_line: tuple[str, dict[str, Any]]
) -> None:
    numbers = parse_file(ROOT / "rules" / "parameters" / "programme.yaml", "p").data["parameters"]
    known = {row["id"]: row["values"][-1]["value"] for row in numbers}
    (loadability,) = re.findall(
        r"loadability: \{value: (\[[\d, ]+\])", (ROOT / "rules" / "programme.yaml").read_text()
    )
    day, line = back_line
    out = _joined(_said(capsys, "why", CASE, day, str(line["order"])))
    paragraphs = re.findall(r"([A-Z][^:;.]+): (\d+) points: (.*?)(?= [A-Z][^:;.]+: |$)", out)
    (name, total, told), *others = paragraphs
    assert name.endswith(line["name"])
    points = [float(each) for each in re.findall(r"([+-][\d.]+) ", told)]
    assert round(sum(points)) == int(total)
    named = re.findall(r"([+-][\d.]+) [^;(]*\((programme\.\w+)\)", told)
    assert ("+30", "programme.best_credit") in named
    # One of several muscles that rank by their place earns a share; all else is the number as it stands.
    assert all(float(n) == known[name] for n, name in named if name != "programme.priority_credit")
    (finely,) = re.findall(r"([+-][\d.]+) how finely it can be loaded", told)
    assert float(finely) in json.loads(loadability)
    # Another exercise is told by where it differs: what it has, without what only ours has.
    (_, theirs, differs), *_ = others
    has, _, lacks = differs.partition("without ")
    gain = sum(float(each) for each in re.findall(r"([+-][\d.]+) ", has))
    loss = sum(float(each) for each in re.findall(r"([+-][\d.]+) ", lacks))
    shared = set(re.findall(r"\((programme\.\w+|rules/programme\.yaml)\)", has))
    ours = {n: float(x) for x, n in re.findall(r"([+-][\d.]+) [^;(]*\(([\w./]+)\)", told)}
    assert gain - loss - sum(ours.get(name, 0.0) for name in shared) == pytest.approx(
        int(theirs) - int(total), abs=1
    )


def test_leaving_a_line_out_costs_the_sets_that_the_line_earns(
    capsys: pytest.CaptureFixture[str],
    earns: dict[str, dict[str, float]],
    week: dict[str, list[dict[str, Any]]],
    back_line: tuple[str, dict[str, Any]],
) -> None:
    day, line = back_line
    lats = sum(
        earns[each["exercise"]].get("lats", 0) * each["sets"]
        for lines in week.values()
        for each in lines
    )
    without = lats - line["sets"]
    out = _joined(_said(capsys, "why", CASE, day, str(line["order"])))
    left_out = out[out.index(f"{line['name']} left out on {day}") :].partition(" - ")[0]
    assert re.search(rf"lats\)? {lats:g} to {without:g}", left_out)
    # The week's own gap is told, each once, and no reason runs in a circle to the line asked about.
    assert re.search(r"[a-z]: [\d.]+ of", left_out)
    reasons = left_out.partition(": ")[2].partition(" (sets a week")[0].split("; ")
    assert len(reasons) == len(set(reasons))
    assert "ahead, since" not in out


def test_every_other_day_is_priced_or_said_to_be_closed(
    capsys: pytest.CaptureFixture[str], back_line: tuple[str, dict[str, Any]]
) -> None:
    day, line = back_line
    said = _said(capsys, "why", CASE, day, str(line["order"]))
    out = _joined(said)
    assert f"moved from {day} to mon: " in out
    assert "does not suit the type of the day (lower)" in out
    assert re.search(rf"moved from {day} to thu: (thu: |nothing that)", out)
    assert len(said.splitlines()) <= 36


def test_why_not_an_exercise_on_a_day_is_answered_with_its_price(
    capsys: pytest.CaptureFixture[str], back_line: tuple[str, dict[str, Any]]
) -> None:
    day, line = back_line
    out = _joined(_said(capsys, "why-not", CASE, "barbell row", "--on", day))
    assert "-15 each step of skill above comfort (programme.skill_above_comfort)" in out
    assert f"in place of {line['name']} on {day}" in out
    assert "Barbell bent-over row added on tue, the rest arranged anew:" in out
    wrong = _said(capsys, "why-not", CASE, "barbell row", "--on", "fri", code=2)
    assert "`fri` is no training day of this week; allowed: mon, tue, thu, sat" in wrong
    wrong = _said(capsys, "why-not", CASE, "dose.role", "--on", "tue", code=2)
    assert "is no exercise" in wrong


def test_a_client_hears_no_points(capsys: pytest.CaptureFixture[str]) -> None:
    assert "points:" not in _said(capsys, "why", CASE, "sat 4", "--for", "client")
