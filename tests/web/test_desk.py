"""The coach's desk: who comes first and why, adding somebody, and one client's pages."""

import datetime as dt
import re
from collections.abc import Callable

import pytest
from coach_support import COACH, answers_of, copied, put_in
from web_support import House

from assistant.records.store import Client
from assistant.web.sessions import Role

Make = Callable[..., House]


@pytest.fixture(scope="module")
def gym(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Two clients: one whose training is held back, one who has no reason to be seen."""
    place = House(tmp_path_factory.mktemp("gym"))
    put_in(place, "Ines Farrow", "four_days")
    put_in(place, "Sol Hadley", "stop_today")
    return place


@pytest.fixture
def desk(gym: House, house: Make) -> House:
    place = house()
    copied(gym, place)
    return place


def client(place: House, name: str) -> Client:
    with place.serving.desk().opened() as records:
        return records.client(name)


def at(place: House, name: str = "Ines Farrow") -> str:
    return f"/desk/c/{client(place, name).token}"


def test_whoever_needs_the_coach_stands_first_with_the_reason(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        page = visitor.get("/desk").text
    first, rest = page.split("Everybody else")
    assert "Sol Hadley" in first
    assert "the screen says stop since" in first.lower()
    assert "Ines Farrow" in rest
    assert "Ines Farrow" not in first


def test_a_name_is_sought_and_stands_in_no_address(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        answer = visitor.post("/desk", data={"sought": "inês"})
        assert "sought" not in str(answer.url)
        assert "Ines Farrow" in answer.text
        assert "Sol Hadley" not in answer.text
        assert "Sol Hadley" in visitor.post("/desk", data={"sought": ""}).text


def test_an_empty_record_says_what_to_do(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        assert "The record is empty" in visitor.get("/desk").text


def test_somebody_is_added_by_the_answers_of_a_case_file(house: Make) -> None:
    place = house()
    with place.visitor(Role.TRAINER, name=COACH) as visitor:
        page = visitor.post(
            "/desk/add",
            data={"name": "Tove Lind", "answers": answers_of("stop_today"), "by": COACH},
        )
        assert page.url.path == at(place, "Tove Lind")
        assert "is in the record" in page.text
        again = {"name": "tove lind", "answers": answers_of("stop_today")}
        taken = visitor.post("/desk/add", data=again)
    assert taken.status_code == 400
    assert "is in the record already" in taken.text
    assert "screen.disease" in taken.text  # what was pasted is still there


@pytest.mark.parametrize(
    ("answers", "wrong"),
    [
        ("", "Answers: paste the text"),
        ("answers: [", "Answers:"),
        ("name: A\nas_of: 2026-01-12\nanswers: {client.age_years: 300}", "client.age_years"),
    ],
)
def test_answers_that_cannot_be_read_say_where(house: Make, answers: str, wrong: str) -> None:
    place = house()
    with place.visitor(Role.COACH) as visitor:
        page = visitor.post("/desk/add", data={"name": "A", "answers": answers})
        assert page.status_code == 400
        assert wrong in page.text
        assert "The record is empty" in visitor.get("/desk").text


def test_after_a_yes_to_the_last_question_nothing_is_written(house: Make) -> None:
    place = house()
    told = answers_of("four_days", screen__self_harm_thoughts="true")
    with place.visitor(Role.COACH) as visitor:
        page = visitor.post("/desk/add", data={"name": "A", "answers": told})
        assert "Stop here for today" in page.text
        assert "The record is empty" in visitor.get("/desk").text


def test_one_client_shows_version_block_and_what_is_open(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        calm = visitor.get(at(desk)).text
        stopped = visitor.get(at(desk, "Sol Hadley")).text
    assert "Version 1 of" in calm
    assert f"the first plan, by {COACH}" in calm
    assert "No warning is open" in calm
    assert "Open warnings" in stopped
    assert "since" in stopped.split("Open warnings")[1]


def test_what_differs_today_is_said(desk: House) -> None:
    desk.clock.today = dt.date(2026, 3, 30)
    with desk.visitor(Role.COACH) as visitor:
        page = visitor.get(at(desk)).text
    assert "The 5 weeks with these exercises are over" in page
    differs = page.split("otherwise")[1]
    assert "Day to look again" in differs
    assert "16 February 2026" in differs


def test_the_plan_is_the_coachs_page(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        page = visitor.get(f"{at(desk)}/plan").text
    assert len(re.findall("<h1>", page)) == 1
    assert 'class="week-bar"' in page
    assert "Ines Farrow" in page
    assert 'class="grade' in page  # grades are the coach's
    assert "style=" not in page


def test_under_a_stop_the_plan_gives_no_week(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        page = visitor.get(f"{at(desk, 'Sol Hadley')}/plan").text
    assert "Sol Hadley" in page
    assert '<div class="session">' not in page


def test_versions_stand_with_who_and_two_beside_each_other(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        page = visitor.get(f"{at(desk)}/versions").text
        assert f"the first plan, by {COACH}" in page
        wrong = visitor.post(f"{at(desk)}/versions", data={"one": "1", "other": "7"})
        same = visitor.post(f"{at(desk)}/versions", data={"one": "1", "other": "1"})
    assert wrong.status_code == 400
    assert "allowed: 1 to 1" in wrong.text
    assert "Nothing that stands on the page changed" in same.text


@pytest.mark.parametrize("part", ["", "/plan", "/record", "/versions"])
def test_nobody_else_sees_a_clients_pages(desk: House, part: str) -> None:
    own = client(desk, "Ines Farrow").token
    with desk.visitor(Role.CLIENT, client=own) as visitor:
        assert visitor.get(at(desk) + part).status_code == 404
    with desk.visitor(Role.COACH) as visitor:
        assert visitor.get("/desk/c/nobody" + part).status_code == 404
