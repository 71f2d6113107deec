"""Trends on the page are those of the record, and stay away where the screen withholds body figures."""

import datetime as dt
import re
from itertools import pairwise
from pathlib import Path

import pytest
from page_cases import ROOT, readable

from assistant.cli.main import main

# 7 weeks that rise by exactly 0.02 kg a day (0.14 kg a week); waist unchanged, hips 4 cm wider.
FIRST = dt.date(2026, 1, 12)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    rows = ["day,weight_kg,waist_cm,hip_cm"]
    for number in range(50):
        girths = {0: "72.0,99.0", 49: "72.0,103.0"}.get(number, ",")
        day = FIRST + dt.timedelta(days=number)
        rows.append(f"{day},{63.0 + 0.02 * number:.2f},{girths}")
    path = tmp_path / "record.csv"
    path.write_text("\n".join(rows) + "\n", "utf-8")
    return path


def _page(case: Path, record: Path, capsys: pytest.CaptureFixture[str], *more: str) -> str:
    options = ["--format", "html", "--record", str(record), "--as-of", "2026-03-02", "--no-week"]
    main(["plan", str(case), *options, *more])
    return capsys.readouterr().out


def _drawn(html: str, css: str) -> list[tuple[float, float]]:
    weight = html[html.index('aria-labelledby="trend-weight-title') :]
    shape = re.search(rf'<path class="{css}" d="M([^"]+)"', weight[: weight.index("</svg>")])
    assert shape is not None
    steps = re.findall(r"([\d.]+) ([\d.]+)", shape[1])
    return [(float(x), float(y)) for x, y in steps]


def test_a_straight_rise_is_drawn_as_one(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    html = _page(ROOT / "cases/four_days.yaml", record, capsys)
    text = readable(html)
    # Arithmetic: 0.02 kg a day is 0.14 kg a week.
    assert "Weight: +0.14 kg a week, nine times in ten between" in text
    course = _drawn(html, "course")
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(course)]
    assert slopes == pytest.approx([slopes[0]] * len(slopes), rel=0.05)
    assert slopes[0] < 0, "up on paper is a smaller y"
    band = _drawn(html, "band")
    assert len(band) == 2 * len(course)
    inside = zip(band[: len(course)], course, reversed(band[len(course) :]), strict=True)
    assert all(high[1] <= middle[1] <= low[1] for high, middle, low in inside)


def test_the_tape_says_only_what_a_tape_can_tell(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    text = readable(_page(ROOT / "cases/four_days.yaml", record, capsys, "--for", "client"))
    assert "Hips: +4.0 cm since the first day; the tape can tell" in text
    assert "Waist: +0.0 cm since the first day. That is too little for a tape to tell" in text
    inches = readable(_page(ROOT / "cases/four_days.yaml", record, capsys, "--imperial"))
    # 4 cm = 1.57 in; 0.14 kg = 0.31 lb (1 in = 2.54 cm, 1 lb = 0.45359237 kg).
    assert "Hips: +1.6 in" in inches
    assert "Weight: +0.31 lb a week" in inches


@pytest.mark.parametrize("who", ["client", "coach"])
def test_no_trend_of_a_body_that_is_not_to_be_measured(
    who: str, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    html = _page(ROOT / "cases/refer_first.yaml", record, capsys, "--for", who)
    assert "trend-" not in html
    assert "0.14" not in readable(html)


def test_a_plan_with_a_record_is_logged_with_what_the_record_told(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = str(tmp_path / "log.jsonl")
    given = ["--record", str(record), "--log", log, "--no-week", "--as-of", "2026-03-02"]
    case = str(ROOT / "cases/four_days.yaml")
    assert main(["plan", case, *given]) == 0
    assert main(["plan", case, "--log", log, "--no-week", "--as-of", "2026-03-02"]) == 0
    capsys.readouterr()
    main(["log", "show", "1", "--log", log])
    shown = capsys.readouterr().out
    assert (
        "record.weight_rate_percent_per_week: " in shown.partition("Told by the client's record")[2]
    )
    main(["log", "show", "2", "--log", log])
    assert "Told by" not in capsys.readouterr().out
    record.unlink()
    assert main(["log", "replay", "--log", log]) == 0, "the record itself is not needed again"
