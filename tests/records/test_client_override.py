"""`whyplan client override`: a change by hand in the record, shown before it is kept, until it is withdrawn.

That it binds until somebody withdraws it, with a name and a reason, is house judgement, no source.
"""

import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main
from assistant.measure.agreed import agreed_on, agreement_of
from assistant.model.case import Override
from assistant.records.projection import answers_line, standing

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases/four_days.yaml")
Type = Callable[..., str]
PROTEIN = ("client", "override", "Ines Farrow", "--line", "food.protein", "--to")
WHO = ("--by", "L. Marrow", "--reason", "likes it")


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Type:
    def run(*words: str, on: str = "2026-01-13", code: int = 0) -> str:
        capsys.readouterr()
        assert main([*words, "--db", str(tmp_path / "r.db"), "--as-of", on]) == code
        told = capsys.readouterr()
        return told.out + told.err

    run("client", "add", "Ines Farrow", "--case", CASE, on="2026-01-12")
    return run


def facts(typed: Type, on: str) -> dict[str, Any]:
    told = typed("plan", "Ines Farrow", "--no-week", "--format", "json", on=on)
    return {name: fact["value"] for name, fact in json.loads(told)["facts"].items()}


def test_it_is_shown_before_it_is_kept_and_binds_until_withdrawn(typed: Type) -> None:
    before = facts(typed, "2026-01-13")
    shown = typed(*PROTEIN, "130")
    assert "protein: 111 g a day -> 130 g a day" in shown
    assert "carbohydrate: 386 g a day -> 367 g a day" in shown
    assert "Nothing is kept yet." in shown
    assert facts(typed, "2026-01-13") == before
    assert "Nothing is changed by hand." in typed("client", "override", "Ines Farrow", "--list")

    kept = typed(*PROTEIN, "130", *WHO)
    assert "Kept: version 2 of the plan." in kept
    for later in ("2026-01-13", "2026-06-01"):
        assert facts(typed, later)["protein.g_per_day"] == 130
    listed = typed("client", "override", "Ines Farrow", "--list")
    assert "1. food.protein to 130 by L. Marrow since 2026-01-13: likes it (holds)" in listed
    page = typed("plan", "Ines Farrow", "--no-week", "--for", "client")
    assert "130 g" in page
    assert "Marrow" not in page

    # Another reason for the same line takes the place of the first.
    typed(*PROTEIN, "125", *WHO)
    assert facts(typed, "2026-01-14")["protein.g_per_day"] == 125
    again = typed("client", "override", "Ines Farrow", "--list")
    assert "2." not in again.replace("2026", "")

    gone = typed("client", "override", "Ines Farrow", "--withdraw", "1", *WHO, on="2026-01-20")
    assert "protein: 125 g a day -> 111 g a day" in gone
    assert facts(typed, "2026-01-20")["protein.g_per_day"] == before["protein.g_per_day"]
    history = typed("client", "plan", "Ines Farrow", "--history", on="2026-01-20")
    assert history.count("a line was changed by hand, by L. Marrow") == 3


def test_a_rules_sentence_keeps_the_rules_own_figure(typed: Type) -> None:
    said = typed("why", "Ines Farrow", "food.protein").partition("\n  Sources")[0]
    found = said[said.index("0.7 to 1 g a pound") :]
    assert "111" in found
    typed(*PROTEIN, "130", *WHO)
    told = typed("why", "Ines Farrow", "food.protein")
    assert "Set by hand to 130" in told
    assert found in told


def test_a_figure_that_is_held_back_later_stands_in_no_list(typed: Type, tmp_path: Path) -> None:
    typed(*PROTEIN, "130", *WHO)
    case = tmp_path / "flagged.yaml"
    told = Path(CASE).read_text("utf-8")
    flagged = told.replace("eating_disorder: never", "eating_disorder: current_no_care")
    assert flagged != told
    case.write_text(flagged, "utf-8")
    typed("client", "update", "Ines Farrow", "--case", str(case), on="2026-01-15")
    listed = typed("client", "override", "Ines Farrow", "--list", on="2026-01-15")
    assert "1. food.protein by L. Marrow" in listed
    assert "set aside today" in " ".join(listed.split())
    assert "130" not in listed
    message = typed("review", "Ines Farrow", "--message", on="2026-01-15")
    assert "see whom your plan names" in " ".join(message.split())


def test_new_answers_and_an_export_keep_it(typed: Type) -> None:
    typed(*PROTEIN, "130", *WHO)
    typed("client", "update", "Ines Farrow", "--case", CASE, on="2026-01-15")
    assert facts(typed, "2026-01-15")["protein.g_per_day"] == 130
    exported = json.loads(typed("client", "export", "Ines Farrow", "--case"))
    (change,) = exported["overrides"]
    assert (change["line"], change["to"]) == ("food.protein", 130)


def test_food_set_by_hand_is_eaten_by_and_what_was_agreed_comes_back(typed: Type) -> None:
    food = ("client", "override", "Ines Farrow", "--line", "food.target", "--to", "2380")
    before = facts(typed, "2026-01-13")["energy.target_kcal_per_day"]
    typed(*food, *WHO)
    assert facts(typed, "2026-01-14")["energy.target_kcal_per_day"] == 2380
    typed("client", "override", "Ines Farrow", "--withdraw", "1", *WHO, on="2026-01-15")
    assert facts(typed, "2026-01-15")["energy.target_kcal_per_day"] == pytest.approx(before)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((*PROTEIN, "900"), "out-of-range"),
        ((*PROTEIN, "much"), "bad-type"),
        (("client", "override", "Ines Farrow", "--line", "screen.level", "--to", "none"), "not-changeable"),
        (("client", "override", "Ines Farrow", "--line", "food.protein"), "say the new value"),
        (("client", "override", "Ines Farrow", "--withdraw", "1"), "nothing is changed by hand"),
        ((*PROTEIN, "130", "--by", "L. Marrow"), "a change needs its reason"),
        ((*PROTEIN, "130", "--until", "2026-01-01"), "allowed: from `since`"),
        (("client", "override", "Ines Farrow", "--line", "training.dose[nose]", "--to", "9"), "no-limit"),
    ],
)  # fmt: skip
def test_what_is_refused_is_one_line_and_nothing_is_kept(
    typed: Type, words: tuple[str, ...], told: str
) -> None:
    refused = typed(*words, code=2)
    assert told in refused
    assert "Traceback" not in refused
    assert "Nothing is changed by hand." in typed("client", "override", "Ines Farrow", "--list")


def test_the_record_keeps_changes_until_others_are_written() -> None:
    day = dt.date(2026, 1, 12)
    change = Override("food.protein", 130.0, "coach", "why", day)
    first = answers_line({"client.age_years": 31}, day, overrides=[change])
    later = answers_line({"client.age_years": 32}, day)
    none = answers_line({}, day, overrides=[])
    assert standing([first, later]).overrides == [change.as_written()]  # type: ignore[list-item]
    assert standing([first, later, none]).overrides == []  # type: ignore[list-item]


def test_food_by_hand_moves_what_is_eaten_by_and_not_what_is_agreed() -> None:
    day = dt.date(2026, 1, 12)
    target = "energy.target_kcal_per_day"
    first = agreement_of({target: 2250.0, "phase.now": "build"}, day, is_first=True)
    week = dt.timedelta(days=7)
    hand = agreement_of({target: 2600.0}, day + week, is_first=False, by_hand=[target])
    agreed = agreed_on([first, hand], day + 2 * week, 250)
    assert (agreed.energy_target_kcal_per_day, agreed.aimed_kcal_per_day) == (2250.0, 2600.0)
    assert (agreed.food_since, agreed.turned) == (day + week, day + week)
    review = {target: 2600.0, "review.decision": "adjust_energy",
              "review.next_target_kcal_per_day": 2500.0}  # fmt: skip
    done = agreement_of(review, day + 2 * week, is_first=False, by_hand=[target])
    agreed = agreed_on([first, hand, done], day + 3 * week, 250)
    assert (agreed.energy_target_kcal_per_day, agreed.aimed_kcal_per_day) == (2500.0, 2500.0)
    assert agreed.food_agreed_on == day + 2 * week
