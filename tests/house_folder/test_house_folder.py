"""A gym's own folder over the shipped book, end to end: in the plan, the page, why, the audit and the log."""

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from harrow_lane import laid_out, spoiled

from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.clients.book import knowledge
from assistant.clients.settings import keep_settings, settings_with
from assistant.knowledge import load_knowledge, rules_directory
from assistant.model.parameters import Change

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases" / "four_days.yaml")
WHO = "Lena Marrow, 2026-01-05"
Say = Callable[..., str]


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return laid_out(tmp_path / "harrow", rules_directory())


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str], house: Path) -> Say:
    def said(*arguments: str, code: int = 0) -> str:
        given = main([*arguments, "--house", str(house)])
        told = capsys.readouterr()
        assert given == code, told.err
        assert "Traceback" not in told.err
        return " ".join((told.out + told.err).split())

    return said


def test_the_plan_shows_what_the_house_laid_over_the_book_and_who_answers_for_it(say: Say) -> None:
    text = say("plan", CASE)
    assert (
        f"changed at the door. [this house: {WHO}: the street brings water in; read by Tom Vale]"
        in text
    )
    assert re.search(r"mon 1 \**Hip thrust machine, low seat", text)
    assert f"Hip thrust machine, low seat: {WHO}: ours has a low seat; read by Tom Vale." in text
    assert f"Wording units.kcal/d: {WHO}" in text
    assert "Very short nights" not in text


def test_the_flag_of_the_house_is_found_and_takes_out_what_it_says(
    say: Say, tmp_path: Path
) -> None:
    short = tmp_path / "short_nights.yaml"
    case = Path(CASE).read_text("utf-8")
    (line,) = (row for row in case.splitlines() if row.strip().startswith("client.sleep_hours:"))
    kept = case[: case.index("\nexpect")].replace(line, "  client.sleep_hours: 4")
    short.write_text(kept, encoding="utf-8")
    text = say("plan", str(short), "--no-week")
    assert "Very short nights: no tests of strength" in text
    assert f"Flag very short sleep: {WHO}: two clients fainted after such nights" in text
    assert "this house" in say("why", str(short), "screen.flag very_short_sleep")


def test_a_clients_page_says_what_is_the_gyms_own_and_names_nobody(say: Say) -> None:
    page = say("plan", CASE, "--for", "client", "--format", "html", "--no-week")
    assert "Please change into dry shoes at the door. (Your gym&#39;s own rule.)" in page
    assert "kcal per day" in page
    assert "Marrow" not in page
    german = say(
        "plan", CASE, "--for", "client", "--format", "html", "--no-week", "--language", "de"
    )
    assert "(Eine eigene Regel deines Studios.)" in german
    assert "[this house: Lena Marrow" in say("plan", CASE, "--format", "html", "--no-week")


def test_why_and_the_audit_name_the_house(say: Say) -> None:
    assert f"[this house: {WHO}" in say("why", CASE, "dry shoes")
    assert "this house's own" in say("why", CASE, "house.exercise thrust_machine")
    audit = say("audit", CASE)
    own = audit[
        audit.index("Set by this house or by hand") : audit.index("Where trade and literature")
    ]
    assert "Dry shoes on the training floor" in own
    assert f"Wording units.kcal/d: {WHO}" in own


def test_the_log_keeps_who_answers_for_the_folder_and_replays_with_it(
    say: Say, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = str(tmp_path / "plans.jsonl")
    say("plan", CASE, "--no-week", "--log", log)
    assert main(["log", "show", "1", "--log", log]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert f"House folder: HLS-100: {WHO}: the street brings water in; read by Tom Vale" in shown
    assert "House folder: flag very_short_sleep" in shown
    assert "FLG-VERY_SHORT_SLEEP:" not in shown  # made from the flag, which is told
    assert "1 the same, 0 not" in say("log", "replay", "--log", log)
    assert main(["log", "replay", "--log", log]) == 1
    assert "Of these 1 with a house's own folder" in capsys.readouterr().out


def test_out_of_its_days_the_books_own_holds_and_the_plan_says_so(house: Path, say: Say) -> None:
    until = 'reviewed_by: "Tom Vale", until: "2026-01-11"}'
    spoiled(house, "exercises.yaml", 'reviewed_by: "Tom Vale"}', until)
    spoiled(house, "dose/HLS-100-dry-shoes-on-floor.yaml", 'reviewed_by: "Tom Vale"}',
            'reviewed_by: "Tom Vale", from: "2026-02-01"}')  # fmt: skip
    text = say("plan", CASE)
    assert re.search(r"mon 1 \**Hip thrust machine ", text)
    assert "Dry shoes on the training floor" not in text
    assert "thrust_machine is not in force on this day, so the book's own holds" in text
    assert "HLS-100 is not in force on this day" in text
    assert "from 2026-02-01" in text
    day = dt.date(2026, 1, 11)
    seats = {on: knowledge(None, house, on).exercises.by_id["thrust_machine"].name
             for on in (day, day + dt.timedelta(days=1))}  # fmt: skip
    assert list(seats.values()) == ["Hip thrust machine, low seat", "Hip thrust machine"]


def test_the_compiled_copy_knows_the_folder_and_the_day(house: Path, tmp_path: Path) -> None:
    def loaded(on: dt.date | None = None) -> str:
        kb = load_knowledge(
            None, house, on=on, calculators=CALCULATORS, cache_directory=tmp_path / "kept"
        )
        return f"{kb.content_hash} {sorted(kb.house)}"

    first = loaded()
    assert loaded() == first
    spoiled(house, "wording.yaml", "kcal per day", "kcal each day")
    second = loaded()
    assert second != first
    spoiled(house, "wording.yaml", 'Vale"}', 'Vale", until: "2026-03-01"}')
    kept, over = loaded(dt.date(2026, 3, 1)), loaded(dt.date(2026, 3, 2))
    assert "wording:units.kcal/d" in kept
    assert "wording:units.kcal/d" not in over


def test_numbers_set_with_a_folder_stand_in_its_house_yaml(house: Path, say: Say) -> None:
    change = Change(
        "sleep.target", 8.0, 8.5, "Lena Marrow", "2026-01-05", "our clients train at night"
    )
    keep_settings(house, settings_with(None, house, change))
    assert "sleep.target: 8.5" in (house / "house.yaml").read_text("utf-8")
    assert "set by this house, the book says 8" in say("why", CASE, "recovery.sleep", "--all")


def test_the_checks_and_the_trial_take_the_folder(
    house: Path, say: Say, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "0 failed" in say("check", "--only", "schema,lint,tests", "--rule", "HLS-*")
    cases = str(house.parent / "cases")
    Path(cases).mkdir()
    Path(cases, "one.yaml").write_text(Path(CASE).read_text("utf-8"), encoding="utf-8")
    assert main(["rules", "try", str(house), "--cases", cases]) == 0
    out = capsys.readouterr().out
    assert "1 of 1 cases would move" in out
    assert "All hold." in out
