"""Check-ins beside a client, warnings, times away, papers, and forgetting; the record afterwards."""

import datetime as dt
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from client_walks import fact_on
from coach_support import COACH, answers_of, at, copied, person, put_in, words
from starlette.testclient import TestClient
from web_support import House

from assistant.model.documents.flags import SEVERITIES
from assistant.records.projection import last_word
from assistant.web.coach.pages import PAGES
from assistant.web.sessions import Role

Make = Callable[..., House]
NEXT_WEEK = dt.date(2026, 1, 19)
CLINICIAN = "R. Dunmore, surgical team"


@pytest.fixture(scope="module")
def gym(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Somebody without a warning, somebody with two of them to decide about, somebody referred."""
    place = House(tmp_path_factory.mktemp("gym"))
    put_in(place, "Ines Farrow", "four_days")
    put_in(
        place,
        "Noor Abell",
        "four_days",
        screen__surgery_weeks_ago="8",
        screen__mind_taken_up="true",
    )
    put_in(place, "Sol Hadley", "refer_first")
    return place


@pytest.fixture
def desk(gym: House, house: Make) -> House:
    place = house()
    copied(gym, place)
    return place


def checked_in(
    visitor: TestClient, here: str, said: dict[str, dict[str, Any]], *, place: House
) -> Any:
    """Go through a check-in: what is said by fact, the rest not known."""
    page = visitor.get(here)
    for _ in range(120):
        place.clock.seconds += 1.0
        if page.url.path != here:
            return page
        if "Read this first" in page.text:
            page = visitor.post(here, data={"do": "read"})
            continue
        fact = fact_on(page.text)
        fields = said.get(fact, {"do": "not_sure"})
        page = visitor.post(here, data={"fact": fact, **fields})
        if page.status_code == 400:
            page = visitor.post(here, data={"fact": fact, **fields})
        assert page.status_code == 200, words(page.text)
    raise AssertionError("the check-in does not end")


def test_a_check_in_keeps_each_answer_at_once(desk: House) -> None:
    desk.clock.today = NEXT_WEEK
    here = f"{at(desk)}/checkin"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        first = visitor.get(here)
        assert "Check-in of Ines Farrow" in first.text
        said = {"checkin.weights": {"answer": "2026-01-19 63.4"}}
        page = checked_in(visitor, here, said, place=desk)
        assert page.url.path == f"{here}/end"
        with desk.serving.desk().opened() as records:
            stands = last_word(records.history(records.client("Ines Farrow")))
        assert [entry.value for entry in stands.values() if entry.measure == "weight_kg"] == [63.4]
        done = visitor.post(f"{here}/end", data={"answer": "no"})
    assert "of today stand in the record" in done.text


def test_a_check_in_goes_on_where_a_server_stopped(desk: House) -> None:
    desk.clock.today = NEXT_WEEK
    here = f"{at(desk)}/checkin"
    with desk.visitor(Role.COACH) as visitor:
        one = fact_on(visitor.get(here).text)
        visitor.post(here, data={"fact": one, "do": "not_sure"})
        two = fact_on(visitor.get(here).text)
    again = House(desk.folder)
    again.clock.today = NEXT_WEEK
    with again.visitor(Role.COACH) as visitor:
        assert fact_on(visitor.get(here).text) == two != one


def test_after_a_yes_at_the_end_of_a_check_in_nothing_more_is_kept(desk: House) -> None:
    desk.clock.today = dt.date(2026, 5, 4)  # all safety questions are due again
    here = f"{at(desk)}/checkin"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        page = checked_in(visitor, here, {}, place=desk)
        assert "Its answer is kept nowhere" in page.text
        before = history(desk)
        crisis = visitor.post(f"{here}/end", data={"answer": "yes"})
        assert "Stop here for today" in crisis.text
        assert history(desk) == before
        assert "self_harm" not in "".join(before)
        done = visitor.post(f"{here}/end", data={"answer": "no"})
        assert "of the plan" in done.text
    assert "self_harm" not in "".join(history(desk))
    assert person(desk).versions[-1].cause == "screen"


def history(place: House) -> list[str]:
    """Return what every line of the record about Ines says."""
    with place.serving.desk().opened() as records:
        return [line.body for line in records.history(records.client("Ines Farrow"))]


def open_form(page: str, kind: str) -> dict[str, Any]:
    """Return what the first form of a kind of decision sends, with everything ticked as seen."""
    part = page.split(f'name="kind" value="{kind}"')[1].split("</form>", 1)[0]
    before = page.split(f'name="kind" value="{kind}"', maxsplit=1)[0]
    (flag,) = re.findall(r'name="flag" value="(\w+)"', before)[-1:]
    return {
        "kind": kind,
        "flag": flag,
        "role": re.findall(r'<option value="(\w+)"', part)[0],
        "until": re.findall(r'name="until"[^>]*value="([\d-]+)"', part)[0],
        "seen": re.findall(r'name="seen" value="([^"]+)"', part),
    }


def test_a_caution_is_set_aside_and_the_decision_withdrawn(desk: House) -> None:
    here = f"{at(desk, 'Noor Abell')}/decide"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        form = open_form(visitor.get(here).text, "set_aside")
        silent = visitor.post(here, data={**form, "by": COACH, "reason": ""})
        assert silent.status_code == 400
        late = {**form, "until": "2027-01-01", "by": COACH, "reason": "talked it over"}
        assert "weeks later" in visitor.post(here, data=late).text
        own = {**form, "by": "Noor Abell", "reason": "I am fine"}
        assert "not the client" in visitor.post(here, data=own).text
        assert len(person(desk, "Noor Abell").versions) == 1
        kept = visitor.post(here, data={**form, "by": COACH, "reason": "talked it over"})
        assert "Kept: version 2" in kept.text
        (decision,) = person(desk, "Noor Abell").case.decisions
        assert (decision.kind, decision.by, decision.reason) == (
            "set_aside",
            COACH,
            "talked it over",
        )
        mark = re.findall(r'name="mark" value="(\w+)"', kept.text)[0]
        gone = visitor.post(
            f"{here}/withdraw", data={"mark": mark, "by": COACH, "reason": "too soon"}
        )
        assert "Kept: version 3" in gone.text
    now = person(desk, "Noor Abell")
    assert now.case.decisions == ()
    assert [v.cause for v in now.versions[1:]] == ["decision", "decision"]


def test_a_clearance_holds_for_what_was_seen(desk: House) -> None:
    here = f"{at(desk, 'Noor Abell')}/decide"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        page = visitor.get(here).text
        form = open_form(page, "cleared")
        assert form["flag"] == "surgery_recent"
        assert "screen.surgery_weeks_ago" in form["seen"]
        why = {"by": CLINICIAN, "reason": "note seen"}
        before = severity(desk)
        visitor.post(here, data={**form, "seen": [], **why})
        assert severity(desk) == before  # a clearance that saw nothing lifts nothing
        kept = visitor.post(here, data={**form, **why})
    assert "Decided: cleared" in words(kept.text)
    assert SEVERITIES.index(severity(desk)) == SEVERITIES.index(before) + 1
    now = person(desk, "Noor Abell")
    seen = now.case.decisions[-1].seen
    assert seen is not None
    assert seen["screen.surgery_weeks_ago"] == 8.0
    assert [v.by for v in now.versions] == [COACH, CLINICIAN, CLINICIAN]


def severity(place: House) -> Any:
    """Return how strong the surgery's flag is in the current version."""
    current = person(place, "Noor Abell").current
    assert current is not None
    flags = {flag["id"]: flag["severity"] for flag in current.digest["flags"]}
    return flags.get("surgery_recent")


def test_nothing_lifts_what_no_decision_may_lift(desk: House) -> None:
    here = f"{at(desk, 'Sol Hadley')}/decide"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        typed = {"kind": "set_aside", "flag": "pregnant", "role": "coach", "until": "2026-01-20"}
        answer = visitor.post(here, data={**typed, "by": COACH, "reason": "please"})
        assert answer.status_code == 400
        odd = visitor.post(
            here, data={"kind": "waved_through", "flag": "x", "by": COACH, "reason": "x"}
        )
    assert "allowed: set_aside, cleared" in odd.text
    assert len(person(desk, "Sol Hadley").versions) == 1


def test_the_note_is_there_where_somebody_is_asked_to_look(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        note = visitor.get(f"{at(desk, 'Sol Hadley')}/referral").text
        none = visitor.get(f"{at(desk)}/referral").text
    assert "Note about Sol Hadley" in note
    assert "What was reported:" in note
    assert "no note is needed" in none


def test_a_time_away_is_told_and_taken_back(desk: House) -> None:
    here = f"{at(desk)}/away"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        told = {"kind": "travel", "since": "2026-01-14", "until": "2026-01-18",
                "equipment": ["dumbbell"], "by": COACH}  # fmt: skip
        assert visitor.post(here, data={**told, "since": ""}).status_code == 400
        assert visitor.post(here, data={**told, "until": "2026-01-01"}).status_code == 400
        assert visitor.post(here, data={**told, "kind": "ill"}).status_code == 400
        kept = visitor.post(here, data=told)
        assert "Kept: version 2" in kept.text, words(kept.text)
        assert [a.equipment for a in person(desk).case.week.away] == [("dumbbell",)]
        assert visitor.post(here, data={**told, "since": "2026-01-16"}).status_code == 400
        gone = visitor.post(here, data={"do": "withdraw", "since": "2026-01-14", "by": COACH})
    assert "Kept: version 3" in gone.text
    assert person(desk).case.week.away == ()
    assert [(v.cause, v.by) for v in person(desk).versions[1:]] == [("away", COACH)] * 2


def test_a_message_in_the_clients_language(desk: House) -> None:
    desk.clock.today = NEXT_WEEK
    with desk.visitor(Role.COACH) as visitor:
        english = visitor.get(f"{at(desk)}/message")
        german = visitor.get(f"{at(desk)}/message?language=de")
        none = visitor.get(f"{at(desk)}/message?language=xx")
    assert "Ines Farrow" in english.text
    assert none.status_code == 400
    said = [re.findall(r"<textarea[^>]*>(.*?)</textarea>", page.text, re.DOTALL)
            for page in (english, german)]  # fmt: skip
    assert said[0] != said[1]


def test_measures_and_answers_are_taken_in(desk: House) -> None:
    here = f"{at(desk)}/measures"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        again = visitor.post(here, data={"do": "measures", "by": COACH})
        assert "Version 2 of the plan" in again.text
        assert (
            visitor.post(here, data={"do": "answers", "answers": "nothing: ["}).status_code == 400
        )
        told = answers_of("four_days", client__sleep_hours="6.5")
        new = visitor.post(here, data={"do": "answers", "answers": told, "by": COACH})
        assert "version 3 of the plan" in new.text
        yes = answers_of("four_days", screen__self_harm_thoughts="true")
        aside = visitor.post(here, data={"do": "answers", "answers": yes})
    assert "Stop here for today" in aside.text
    now = person(desk)
    assert now.case.answers["client.sleep_hours"] == 6.5
    assert [(v.cause, v.by) for v in now.versions[1:]] == [("measures", COACH), ("answers", COACH)]


def test_the_calendar_is_a_file_that_names_nobody(desk: House) -> None:
    here = f"{at(desk)}/calendar"
    with desk.visitor(Role.COACH) as visitor:
        wrong = visitor.post(here, data={"timezone": "Europe/Lundon"})
        assert wrong.status_code == 400
        assert "Time zone" in wrong.text
        file = visitor.post(here, data={"timezone": "Europe/London", "time": "18:00", "weeks": "2"})
        stopped = visitor.post(
            f"{at(desk, 'Sol Hadley')}/calendar", data={"timezone": "Europe/London"}
        )
    assert file.headers["content-type"].startswith("text/calendar")
    assert file.headers["content-disposition"] == 'attachment; filename="days.ics"'
    assert file.text.startswith("BEGIN:VCALENDAR")
    assert stopped.status_code in {200, 400}


def test_all_that_is_held_comes_as_a_file(desk: House) -> None:
    with desk.visitor(Role.COACH) as visitor:
        shown = visitor.get(f"{at(desk)}/held")
        file = visitor.get(f"{at(desk)}/held/all")
    assert "In the record since" in shown.text
    assert file.headers["content-disposition"] == 'attachment; filename="record.json"'
    assert json.loads(file.text)["name"] == "Ines Farrow"


def test_forgetting_wants_the_name_and_ends_the_clients_sessions(desk: House) -> None:
    here = at(desk)
    token = here.rpartition("/")[2]
    with desk.visitor(Role.COACH) as visitor, desk.visitor(Role.CLIENT, client=token) as theirs:
        wrong = visitor.post(f"{here}/forget", data={"typed": "Ines"})
        assert wrong.status_code == 400
        assert f'action="{here}/forget"' in wrong.text, "the form again"
        assert "Ines Farrow" in visitor.get("/desk").text
        gone = visitor.post(f"{here}/forget", data={"typed": "ines farrow"})
        assert "Forgotten" in gone.text
        assert "Ines Farrow" not in visitor.get("/desk").text
        assert visitor.get(here).status_code == 404
        assert theirs.get("/me").url.path == "/closed"
    assert token.encode() not in desk.record.read_bytes()


def test_a_form_that_is_refused_is_shown_again_with_what_was_wrong(gym: House) -> None:
    """Every form of a client's that says so, sent empty."""
    here, refused = at(gym), 0
    with gym.visitor(Role.COACH) as visitor:
        for page in PAGES:
            if not page.again or "{client}" not in page.path or page.again == "not_kept":
                continue
            path = page.path.replace("/desk/c/{client}", here)
            answer = visitor.post(path, data={})
            if answer.status_code == 400:
                refused += 1
                assert 'id="wrong"' in answer.text, path
                assert "/desk/c/" in answer.text, path
                assert "<form" in answer.text, path
    assert refused >= 8
