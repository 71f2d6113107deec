"""The questions asked beside somebody new: several at once, gone on with after a restart, the last kept nowhere."""

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from client_walks import fact_on, fields_for
from coach_support import CASES, COACH
from starlette.testclient import TestClient
from web_support import House

from assistant.casefiles import read_case
from assistant.clients.book import knowledge
from assistant.records.chain import ANSWERS
from assistant.web.sessions import Role

Make = Callable[..., House]
ON = dt.date(2026, 1, 12)
SESSION_ONLY = "self_harm"


def begun(visitor: TestClient, name: str) -> str:
    """Begin an intake; return its address."""
    page = visitor.post("/desk/new", data={"name": name})
    assert page.status_code == 200
    return page.url.path


def walked(place: House, visitor: TestClient, here: str, case: str, most: int = 300) -> str:
    """Answer so many questions as a case file says; return the path of the page then."""
    answers = read_case(CASES / f"{case}.yaml", knowledge(None, None)).answers
    page = visitor.get(here)
    for _ in range(most):
        place.clock.seconds += 1.0
        if page.url.path.endswith("/answers"):
            break
        if "Read this first" in page.text:
            page = visitor.post(here, data={"do": "read"})
            continue
        fact = fact_on(page.text)
        fields = fields_for(fact, answers.get(fact), ON, "coach")
        if fields == {"do": "not_applicable"} and 'value="not_applicable"' not in page.text:
            fields = {"answer": "no"}
        page = visitor.post(here, data={"fact": fact, **fields})
        assert page.status_code in {200, 400}, page.text
        if page.status_code == 400:  # a doubt: the same again
            page = visitor.post(here, data={"fact": fact, **fields})
    return page.url.path


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> tuple[House, str]:
    """Somebody who has answered everything but the last question."""
    place = House(tmp_path_factory.mktemp("asked"))
    with place.visitor(Role.COACH, name=COACH) as visitor:
        here = begun(visitor, "Tove Lind")
        assert walked(place, visitor, here, "stop_today") == f"{here}/answers"
    return place, here


def everything(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def test_two_are_asked_at_once_and_gone_on_with_after_a_restart(house: Make) -> None:
    place = house()
    with place.visitor(Role.COACH) as visitor:
        first, second = begun(visitor, "Tove Lind"), begun(visitor, "Ada Quill")
        walked(place, visitor, first, "four_days", 5)
        walked(place, visitor, second, "older_lifter", 3)
        stood = fact_on(visitor.get(first).text), fact_on(visitor.get(second).text)
        page = visitor.get("/desk").text
        assert page.index("Ada Quill") < page.index("Tove Lind")
    again = House(place.folder)  # another server on the same folder
    with again.visitor(Role.COACH) as visitor:
        assert "Tove Lind" in visitor.get("/desk").text
        assert (fact_on(visitor.get(first).text), fact_on(visitor.get(second).text)) == stood
        assert "Question 6 of" in visitor.get(first).text


def test_the_coach_is_asked_in_the_coachs_voice(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        here = begun(visitor, "Tove Lind")
        page = visitor.get(here).text
        wrong = visitor.post(here, data={"fact": fact_on(page), "answer": "?!"})
    kb = knowledge(None, None)
    question = next(q for q in kb.questions if q.fact == fact_on(page))
    assert question.coach in page
    assert wrong.status_code == 400


def test_a_wrong_name_begins_nothing(house: Make) -> None:
    with house().visitor(Role.COACH) as visitor:
        assert visitor.post("/desk/new", data={"name": " "}).status_code == 400
        assert "Begun and not finished" not in visitor.get("/desk/new").text


def test_a_draft_is_thrown_away_only_when_it_is_meant(house: Make) -> None:
    place = house()
    with place.visitor(Role.COACH) as visitor:
        here = begun(visitor, "Tove Lind")
        assert "tick the box" in visitor.post(f"{here}/drop", data={}).text
        assert visitor.get(here).status_code == 200
        visitor.post(f"{here}/drop", data={"sure": "yes"})
        assert visitor.get(here).status_code == 404
        assert visitor.get("/desk/new/..%2frecords").status_code == 404
    assert b"Tove" not in everything(place.folder)


def test_answers_are_read_through_and_changed(asked: tuple[House, str]) -> None:
    place, here = asked
    with place.visitor(Role.COACH, name=COACH) as visitor:
        page = visitor.get(f"{here}/answers").text
        assert SESSION_ONLY not in page
        number = re.findall(r'name="number" value="(\d+)"', page)[0]
        there = visitor.post(f"{here}/answers", data={"number": number})
        assert there.url.path == here
        visitor.post(here, data={"fact": fact_on(there.text), "answer": ""})
        assert visitor.post(f"{here}/answers", data={"number": "9999"}).url.path.endswith(
            "/answers"
        )


def test_after_a_yes_nothing_is_kept_and_a_no_adds_the_client(asked: tuple[House, str]) -> None:
    place, here = asked
    with place.visitor(Role.COACH, name=COACH) as visitor:
        assert "Its answer is kept nowhere" in visitor.get(f"{here}/last").text
        before = everything(place.folder)
        crisis = visitor.post(f"{here}/last", data={"answer": "yes"})
        assert "Stop here for today" in crisis.text
        assert everything(place.folder) == before
        assert "No plan is kept" not in crisis.text
        done = visitor.post(f"{here}/last", data={"answer": "no"})
        assert "Tove Lind is in the record" in done.text
        assert visitor.get(here).status_code == 404
    with place.serving.desk().opened() as records:
        client = records.client("Tove Lind")
        lines = records.history(client)
        person = place.serving.desk().standing(records, "Tove Lind")
    assert [v.by for v in person.versions] == [COACH]
    told = read_case(CASES / "stop_today.yaml", knowledge(None, None)).answers
    same = {fact for fact, value in told.items() if person.case.answers.get(fact) == value}
    assert len(same) >= len(told) - 12  # what does not apply is settled by the questions
    assert not any(SESSION_ONLY in line.body for line in lines if line.kind == ANSWERS)
