"""A client's pages once there is a plan: the day, sets to tick, questions between times, data, deleting.

No outside source for what the pages promise. That a record of sets follows load times repetitions at a
reserve is common practice, no source.
"""

import datetime as dt
import html
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from client_walks import fact_on
from starlette.testclient import TestClient
from web_support import MONDAY, House

from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.clients.adding import added
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.records.chain import PLAN
from assistant.records.projection import entry_of, last_word
from assistant.records.store import Client, Records, open_records
from assistant.web.client.intake import draft_of
from assistant.web.client.own import mark_of
from assistant.web.pin import has_pin, set_pin
from assistant.web.sessions import Role

Make = Callable[..., House]
ROOT = Path(__file__).parents[2]
NAME = "Invented Person"
TO_READ = ("/me", "/me/plan", "/me/food", "/me/people", "/me/checkin", "/me/data", "/me/changed")


def living(place: House, name: str = "four_days", called: str = NAME) -> Client:
    """Put a client of a case into the record of a house."""
    desk = place.serving.desk()
    with open_records(str(place.record), place.clock.today) as records:
        case = read_case(ROOT / "cases" / f"{name}.yaml", desk.kb)
        return added(desk, records, called, case)


def in_record(place: House, read: Callable[[Records, Client], Any], called: str = NAME) -> Any:
    with open_records(str(place.record), place.clock.today) as records:
        return read(records, records.client(called))


def versions(place: House) -> int:
    return int(in_record(place, lambda r, c: sum(line.kind == PLAN for line in r.history(c))))


def versions_and_lines(place: House) -> tuple[int, int]:
    return versions(place), int(in_record(place, lambda r, c: len(r.history(c))))


def told(place: House, measure: str) -> dict[str, float | None]:
    def read(records: Records, client: Client) -> dict[str, float | None]:
        stands = last_word(records.history(client))
        return {s.detail: e.value for s, e in stands.items() if s.measure == measure}

    found: dict[str, float | None] = in_record(place, read)
    return found


def first_line(page: str) -> str:
    """Return the mark of the first exercise with sets to tick."""
    found = re.search(r'class="sets"[^>]*>\s*<input type="hidden" name="line" value="(\w+)"', page)
    assert found is not None
    return found[1]


@pytest.fixture
def home(house: Make) -> House:
    place = house(alone=True)
    living(place)
    return place


@pytest.mark.parametrize("language", [pytest.param("en", marks=pytest.mark.slow), "de"])
@pytest.mark.parametrize(
    "name", ["refer_first", "stop_today", *(pytest.param(n, marks=pytest.mark.slow)
                              for n in ("four_days", "half_answered", "older_lifter"))],
)  # fmt: skip
def test_every_page_is_there_for_everybody(house: Make, name: str, language: str) -> None:
    place = house(alone=True, language=language)
    living(place, name)
    with place.visitor(Role.CLIENT) as visitor:
        for path in TO_READ:
            page = visitor.get(path)
            assert page.status_code == 200, path
            assert f'lang="{language}"' in page.text
            assert page.text.count("<h1") == 1, path
            assert "style=" not in page.text, path
            # Whoever has to leave quickly can, from everywhere.
            assert 'action="/leave"' in page.text, path
            for level in re.findall(r"<(script|style)\b(?![^>]*src)", page.text):
                raise AssertionError((path, level))
            assert f"<title>{NAME}" not in page.text
            if path != "/me/people" and language == "de":
                # What has no German words yet says so; none of the page's own furniture does.
                assert "web_" not in page.text
        whys = re.findall(r"/me/why\?line=(\w+)", visitor.get("/me/food").text)
        for mark in whys[:3]:
            page = visitor.get(f"/me/why?line={mark}")
            assert page.status_code == 200
            # A reason is read on the way: the other pages stay at hand.
            assert 'href="/me/food"' in page.text
        assert visitor.get("/me/why?line=food.target").status_code == 404


def test_the_day_shows_the_session_with_sets_to_tick(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        page = visitor.get("/me").text
        drawn = re.findall(r'<title id="figure-([a-z0-9-]+)-title">', page)
        assert drawn
        assert len(drawn) == len(set(drawn))
        mark = first_line(page)
        form = {"line": mark, "done": ["1", "2"], "load_1": "40", "reps_1": "10",
                "load_2": "42,5", "reps_2": "9", "load_3": "45", "reps_3": "8", "reserve": "2"}  # fmt: skip
        page = visitor.post("/me/sets", data=form).text
        assert "Your sets are kept" in page
        assert page.count(" checked") == 2
    (value,) = told(home, "top_set").values()
    assert value == 42.5

    def sets(records: Records, client: Client) -> Any:
        return [entry_of(x).sets for x in records.history(client) if x.measure == "top_set"]

    ((top, other),) = in_record(home, sets)
    assert (top.repetitions, top.reserve, other.load_kg, other.repetitions) == (9, 2.0, 40.0, 10)
    # Another process shows them ticked; a set that is no longer ticked is taken back.
    with House(home.folder, alone=True).visitor(Role.CLIENT) as visitor:
        assert visitor.get("/me").text.count(" checked") == 2
        visitor.post("/me/sets", data={"line": mark})
    assert told(home, "top_set") == {}


@pytest.mark.parametrize(
    "wrong",
    [{"reps_1": "ten"}, {"reps_1": "0"}, {"load_1": "9999"}, {"load_1": "<b>"}, {"reps_1": ""},
     {"reserve": "77"}],
)  # fmt: skip
def test_a_set_that_cannot_be_read_is_told_and_stays_typed(
    home: House, wrong: dict[str, str]
) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        mark = first_line(visitor.get("/me").text)
        form = {"line": mark, "done": "1", "load_1": "40", "reps_1": "10", **wrong}
        page = visitor.post("/me/sets", data=form)
        assert page.status_code == 400
        assert f'id="wrong-{mark}"' in page.text
        for name in ("load_1", "reps_1"):
            assert f'value="{html.escape(form[name])}"' in page.text
        assert visitor.post("/me/sets", data={"line": mark}).status_code == 400
        assert visitor.post("/me/sets", data={"line": "nothing"}).status_code == 404
    assert told(home, "top_set") == {}


def test_a_load_far_from_the_last_is_asked_about_once(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        mark = first_line(visitor.get("/me").text)
        form = {"line": mark, "done": "1", "load_1": "40", "reps_1": "10"}
        visitor.post("/me/sets", data=form)
        home.clock.today += dt.timedelta(days=7)
        visitor.get("/me")
        page = visitor.post("/me/sets", data={**form, "load_1": "140"})
        assert page.status_code == 400
        assert 'value="140"' in page.text
        page = visitor.post("/me/sets", data={**form, "load_1": "140", "sure": "yes"})
        assert "Your sets are kept" in page.text


def test_the_session_is_marked_as_done_and_back(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        assert "marked as done" in visitor.post("/me/session").text
        assert told(home, "session") == {"": 1.0}
        visitor.post("/me/session", data={"undo": "yes"})
        assert told(home, "session") == {}


def test_another_exercise_for_today_changes_what_is_ticked_and_no_plan(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        page = visitor.get("/me").text
        mark = first_line(page)
        other = re.findall(r'name="today" value="(\w+)"', page)[0]
        page = visitor.post("/me/swap", data={"line": mark, "today": other}).text
        assert "Today in place of" in page
        visitor.post("/me/sets", data={"line": mark, "done": "1", "load_1": "30", "reps_1": "10"})
        assert list(told(home, "top_set")) == [other]
        assert (
            "Today in place of"
            not in visitor.post("/me/swap", data={"line": mark, "back": "yes"}).text
        )
        # What the plan does not list is no choice.
        for wrong in ("squat_back_barbell", "../x", ""):
            sent = {"line": mark, "today": wrong, "always": wrong}
            assert visitor.post("/me/swap", data=sent).status_code == 404
    assert versions(home) == 1


def test_another_exercise_from_now_on_is_kept_with_who_and_why(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        page = visitor.get("/me").text
        mark = first_line(page)
        other = re.findall(r'name="always" value="(\w+)"', page)[0]
        page = visitor.post("/me/swap", data={"line": mark, "always": other}).text
        assert f'id="x-{mark_of(other)}"' in page
    body = in_record(home, lambda r, c: [x for x in r.history(c) if x.kind == PLAN][-1].body)
    assert versions(home) == 2
    assert '"by":"Invented Person"' in body
    assert "machine or weight taken" in body


# ---- rounds of questions -----------------------------------------------------------------------


def round_through(visitor: TestClient, answers: dict[str, Any]) -> Any:
    """Answer a round; what is not named is left open."""
    page = visitor.get("/me/round")
    for _ in range(150):
        if page.url.path != "/me/round" or 'name="fact"' not in page.text:
            return page
        fact = fact_on(page.text)
        fields = answers.get(fact, {"do": "not_sure"})
        page = visitor.post("/me/round", data={"fact": fact, **fields})
        if page.status_code == 400:
            page = visitor.post("/me/round", data={"fact": fact, **fields})
        assert page.status_code == 200, (fact, page.text[-500:])
        if 'value="read"' in page.text:
            page = visitor.post("/me/round", data={"do": "read"})
    raise AssertionError("the round does not end")


def test_a_pain_changes_the_plan_at_once(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        page = visitor.post("/me/hurts")
        assert fact_on(page.text) == "checkin.pain"
        page = visitor.post("/me/round", data={"fact": "checkin.pain", "answer": "elbow 99"})
        assert page.status_code == 400
        assert 'value="elbow 99"' in page.text
        page = visitor.post("/me/round", data={"fact": "checkin.pain", "answer": "knee 8"})
        assert told(home, "pain") == {"knee": 8.0}
        # Strong pain brings the questions about urgent signs.
        assert fact_on(page.text).startswith("screen.")
        page = round_through(visitor, {})
        assert page.url.path == "/me/changed"
        assert "Your plan was made again" in page.text
        assert versions(home) > 1
        # The same button asks again, with what was said before.
        assert 'value="knee 8' in visitor.post("/me/hurts").text


def test_a_check_in_is_kept_line_by_line_and_goes_on_after_a_restart(home: House) -> None:
    home.clock.today += dt.timedelta(days=7)
    with home.visitor(Role.CLIENT) as visitor:
        assert "time for a check-in" in visitor.get("/me").text
        page = visitor.post("/me/checkin")
        assert fact_on(page.text) == "checkin.pain"
        page = visitor.post("/me/round", data={"fact": "checkin.pain", "do": "not_sure"})
        page = visitor.post("/me/round", data={"fact": "checkin.weights", "answer": "63.2"})
        after = fact_on(page.text)
    assert told(home, "weight_kg") == {"": 63.2}
    again = House(home.folder, alone=True)
    again.clock.today = home.clock.today
    with again.visitor(Role.CLIENT) as visitor:
        assert visitor.get("/me/round").url.path == "/me/checkin"
        page = visitor.post("/me/checkin")
        assert fact_on(page.text) == after
        page = visitor.post("/me/round", data={"fact": after, "do": "back"})
        page = round_through(visitor, {"checkin.mood": {"answer": "4"}})
        assert 'action="/me/round/end"' in page.text
        page = visitor.post("/me/round/edit", data={"number": "0"})
        page = round_through(visitor, {})
        page = visitor.post("/me/round/end")
        assert page.url.path == "/me/changed"
        assert "time for a check-in" not in visitor.get("/me").text
    assert told(home, "mood_1_to_5") == {"": 4.0}


def test_a_check_in_takes_as_long_as_its_first_question_says(home: House) -> None:
    home.clock.today += dt.timedelta(days=120)  # the safety questions are due again
    with home.visitor(Role.CLIENT) as visitor:
        before = re.findall(r"about (\d+) min", visitor.get("/me/checkin").text)
        first = re.findall(r"about (\d+) minutes? left", visitor.post("/me/checkin").text)
    assert before == first != []


def test_the_last_question_of_a_check_in_is_kept_nowhere(home: House) -> None:
    home.clock.today += dt.timedelta(days=120)
    (session_only,) = SESSION_ONLY_FACTS
    with home.visitor(Role.CLIENT) as visitor:
        visitor.post("/me/checkin")
        page = round_through(visitor, {})
        assert "The last question" in page.text
        before = versions_and_lines(home)
        page = visitor.post("/me/round/end", data={"answer": "yes"}, follow_redirects=False)
        assert page.status_code == 200
        assert "Thank you for saying this here" in page.text
        assert versions_and_lines(home) == before
        page = visitor.post("/me/round/end", data={"answer": "no"})
        assert page.url.path == "/me/changed"
    everything = in_record(home, lambda r, c: "".join(line.body for line in r.history(c)))
    assert session_only not in everything


def test_somebody_who_was_seen_is_told(house: Make) -> None:
    place = house(alone=True)
    living(place, "refer_first")
    with place.visitor(Role.CLIENT) as visitor:
        page = visitor.get("/me/people").text
        who = re.findall(r'name="who" value="(\w+)"', page)
        assert who
        assert "Note about" in page
        visitor.post("/me/went", data={"who": who[0], "seen": "1"})
        assert who[0] not in visitor.get("/me/people").text
        for wrong in ({"who": "x", "seen": "1"}, {"who": who[0], "seen": "9"}, {}):
            assert visitor.post("/me/went", data=wrong).url.path == "/me/people"
    assert 1.0 in told(place, "referral").values()


def test_an_answer_is_put_right_and_the_plan_follows(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        page = visitor.post("/me/data", data={"answer_mark": mark_of("client.sleep_hours")})
        assert fact_on(page.text) == "client.sleep_hours"
        page = visitor.post("/me/round", data={"fact": "client.sleep_hours", "answer": "5"})
        assert page.url.path == "/me/changed"
        assert versions(home) == 2
        (hidden,) = SESSION_ONLY_FACTS
        assert visitor.post("/me/data", data={"answer_mark": mark_of(hidden)}).status_code == 404
        assert visitor.post("/me/data", data={"answer_mark": "x"}).status_code == 404
    assert '"cause":"answers"' in in_record(
        home, lambda r, c: [x for x in r.history(c) if x.kind == PLAN][-1].body
    )


# ---- data --------------------------------------------------------------------------------------


def test_what_is_taken_along_is_what_the_commands_hand_over(
    home: House, capsys: pytest.CaptureFixture[str]
) -> None:
    on = ("--db", str(home.record), "--as-of", MONDAY.isoformat())
    with home.visitor(Role.CLIENT) as visitor:
        everything = visitor.get("/me/data/notes.json")
        assert everything.headers["content-disposition"] == 'attachment; filename="notes.json"'
        case = visitor.get("/me/data/notes-case.json").json()
    main(["client", "export", NAME, *on])
    assert json.loads(capsys.readouterr().out) == everything.json()
    main(["client", "export", NAME, "--case", *on])
    assert json.loads(capsys.readouterr().out) == case


def test_a_calendar_has_days_and_no_figures(home: House) -> None:
    with home.visitor(Role.CLIENT) as visitor:
        days = visitor.get("/me/calendar.ics?zone=Europe/London")
        assert days.headers["content-type"].startswith("text/calendar")
        assert "BEGIN:VEVENT" in days.text
        assert "kcal" not in days.text
        assert visitor.get("/me/calendar.ics?zone=Nowhere/Else").status_code == 404


def test_deleting_asks_for_a_word_and_leaves_nothing(home: House) -> None:
    set_pin(home.folder, "1234")
    draft_of(home.folder).write_text("", "utf-8")
    with home.visitor(Role.CLIENT) as visitor, home.visitor(Role.CLIENT) as other:
        page = visitor.post("/me/data/delete", data={"word": "remove"})
        assert page.status_code == 400
        assert "Nothing was deleted" in page.text
        assert versions(home) == 1
        page = visitor.post("/me/data/delete", data={"word": "Delete"})
        assert page.url.path == "/closed"
        assert visitor.get("/me").url.path == "/closed"
        assert other.get("/me").url.path == "/closed"
    assert not has_pin(home.folder)
    assert not draft_of(home.folder).exists()
    for path in home.folder.rglob("*"):
        assert not path.is_file() or NAME.encode() not in path.read_bytes(), path


def test_a_client_of_a_coach_sees_their_own_alone(house: Make) -> None:
    place = house()
    one = living(place, "four_days", "Person One")
    two = living(place, "older_lifter", "Person Two")
    with place.visitor(Role.CLIENT, client=one.token) as visitor:
        for path in (*TO_READ, "/me/data/notes.json", "/me/data/notes-case.json"):
            text = visitor.get(path).text
            assert "Person Two" not in text
            assert two.token not in text
        visitor.post("/me/data/delete", data={"word": "delete"})
    with open_records(str(place.record), place.clock.today) as records:
        assert [client.name for client in records.clients()] == ["Person Two"]
