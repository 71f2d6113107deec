"""A number that a house set is said to be its own, wherever a reason is shown, and by no source of the book.

Outside source: plain arithmetic. 0.7 to 1 g a pound of 63 kg with 0.45359237 kg to the pound (the
international pound of 1959).
"""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.cli.main import main

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases" / "four_days.yaml")
SIGNED = 'by: "Ada Vale", day: "2026-01-05", reason: "it suits our lifters"'
NUMBER = "protein.aim_per_lb"
POUND_KG, GOAL_KG = 0.45359237, 63.0

Told = Callable[..., str]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("house") / "house.yaml"
    path.write_text(
        f"parameters: {{{NUMBER}: 0.9, sleep.target: 8.5}}\n"
        f"changes:\n  - {{parameter: {NUMBER}, was: 0.8, now: 0.9, {SIGNED}}}\n"
        f"  - {{parameter: {NUMBER}, was: 0.7, now: 0.8, by: Nobody, day: '2026-01-01', reason: old}}\n",
        "utf-8",
    )
    return str(path)


@pytest.fixture
def told(house: str, capsys: pytest.CaptureFixture[str]) -> Told:
    def say(*words: str) -> str:
        main([words[0], CASE, *words[1:], "--house", house, "--engine", "clips"])
        return " ".join(capsys.readouterr().out.split())

    return say


WORDS = "set by this house, the book says 0.8; Ada Vale, 2026-01-05: it suits our lifters"


def test_why_names_who_set_it_and_no_source_of_the_book(told: Told) -> None:
    assert f"{NUMBER} = 0.9 g a day for each pound: {WORDS}" in told("why", "protein.g_per_day")
    every = told("why", "protein.g_per_day", "--all")
    assert f"number: {NUMBER} = 0.9 g a day for each pound ({WORDS})" in every
    # Its neighbours are the book's, with the book's sources.
    assert (
        "protein.high_per_lb = 1 g a day for each pound (since 2026-01-01; source: common" in every
    )


def test_a_client_hears_that_it_is_the_houses_and_nobodys_name(told: Told) -> None:
    text = told("why", "protein.g_per_day", "--all", "--for", "client")
    assert f"{NUMBER} = 0.9 g a day for each pound (set by this house)" in text
    assert "Ada Vale" not in text


def test_the_page_and_the_plan_as_data_say_so(told: Told) -> None:
    assert f"{NUMBER} = 0.9 g a day for each pound ({WORDS})" in told(
        "plan", "--no-week", "--format", "html"
    )
    plan = json.loads(told("plan", "--no-week", "--format", "json"))
    number = plan["house_numbers"][NUMBER]
    signed = {"by": "Ada Vale", "day": "2026-01-05", "reason": "it suits our lifters"}
    assert number == {"value": 0.9, "book_says": 0.8, **signed}
    # Nobody wrote down who set this one.
    assert plan["house_numbers"]["sleep.target"] == {"value": 8.5, "book_says": 8}
    client = json.loads(told("plan", "--no-week", "--format", "json", "--for", "client"))
    assert client["house_numbers"][NUMBER] == {"value": 0.9, "book_says": 0.8}


def test_flip_says_what_the_books_number_would_do(told: Told) -> None:
    books = f"{0.8 / POUND_KG * GOAL_KG:.0f}"
    text = told("flip", "protein.g_per_day", books)
    assert "There is no such change of these answers, with the numbers in force" in text
    assert f"- {NUMBER} = 0.9 g a day for each pound: {WORDS}" in text
    assert (
        f"With the book's numbers in their place: protein {books} g a day; that alone does it."
        in text
    )
    # The other number of the house has no say in this.
    assert "sleep.target" not in text


@pytest.mark.slow
def test_flip_does_not_say_that_the_books_number_does_what_it_does_not(told: Told) -> None:
    assert "that alone does it" not in told("flip", "protein.g_per_day", "150")


def test_flip_says_nothing_of_a_house_that_has_no_say(told: Told) -> None:
    assert "Numbers of this house" not in told("flip", "phase.now", "hold")


def test_why_not_says_which_of_its_numbers_are_the_houses(told: Told) -> None:
    text = told("why-not", "protein.g_per_day", "--most", "1")
    now, nearest = text.split("What did not decide it")
    assert f"Number {NUMBER} = 0.9 g a day for each pound: {WORDS}" in now
    assert f"number {NUMBER} = 0.9 g a day for each pound: {WORDS}" in nearest


def test_the_command_for_more_puts_the_same_question(told: Told, house: str) -> None:
    assert f"protein.g_per_day --all --house {house}" in told("why", "protein.g_per_day")


def test_no_answer_is_said_to_be_tried_that_has_no_other_value(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = (ROOT / "cases" / "four_days.yaml").read_text("utf-8").splitlines()
    kept = [line for line in case if "client.intake_kcal_per_day" not in line]
    at = next(n for n, line in enumerate(kept) if line.startswith("answers:"))
    kept.insert(at + 1, "  client.intake_kcal_per_day: not_applicable")
    path = tmp_path / "case.yaml"
    path.write_text("\n".join(kept) + "\n", "utf-8")
    main(["flip", str(path), "energy.maintenance_kcal_per_day", ">=9000", "--engine", "clips"])
    text = " ".join(capsys.readouterr().out.split())
    said = "Not tried, since there is no other value to ask for: "
    tried, untried = text.split(said)
    assert "by the client's own log" in untried
    assert "by the client's own log" not in tried.partition("can have a say")[2]
