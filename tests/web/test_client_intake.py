"""The first questions in a browser: the same answers as in a terminal or a file give the same plan.

No outside source: that three ways in lead to one record is our own promise. WCAG 2.2 success criteria
3.3.1 and 3.3.3 (an error is named beside its field, what was typed stays), from memory.
"""

import html
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from client_walks import added, answer_all, begin, fact_on, fields_for, heading_on
from web_support import MONDAY, House

from assistant.casefiles import check_answers, read_case
from assistant.cli.main import main
from assistant.clients.book import knowledge
from assistant.intake.case_file import case_text, completed
from assistant.intake.form import form_of
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status
from assistant.records.projection import standing
from assistant.records.store import open_records
from assistant.web.client.intake import draft_of
from assistant.web.sessions import Role

Make = Callable[..., House]
ROOT = Path(__file__).parents[2]
(SESSION_ONLY,) = SESSION_ONLY_FACTS


def _case(name: str) -> Path:
    return ROOT / "cases" / f"{name}.yaml"


def _held(place: House) -> str:
    """Return everything that lies in the folder of a server, as text."""
    files = (path for path in place.folder.rglob("*") if path.is_file())
    return "\n".join(path.read_bytes().decode("utf-8", "replace") for path in files)


@pytest.mark.parametrize(
    "name", ["four_days", pytest.param("older_lifter", marks=pytest.mark.slow),
             pytest.param("stop_today", marks=pytest.mark.slow)],
)  # fmt: skip
def test_browser_terminal_and_file_lead_to_the_same_plan(
    house: Make, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place, kb = house(alone=True), knowledge(None, None)
    case = read_case(_case(name), kb)
    place.clock.today = case.as_of
    day = case.as_of.isoformat()
    # What a form can be told: nobody is asked what does not apply to them.
    told = {fact: v for fact, v in case.answers.items() if v is not Status.NOT_APPLICABLE}
    said, _ = form_of(kb, case.as_of).settle(told)
    with place.visitor(Role.CLIENT) as visitor:
        page = added(visitor, said, case.as_of, "Invented Person")
        assert page.url.path == "/me"
    assert not draft_of(place.folder).exists()

    file = tmp_path / "case.yaml"
    own = tmp_path / "answers.yaml"
    own.write_text(case_text("Invented Person", case.as_of, said), "utf-8")
    main(
        ["intake", "--answers", str(own), "--out", str(file), "--name", "Invented Person", "--self"]
    )
    other = str(tmp_path / "other.sqlite3")
    main(["client", "add", "Invented Person", "--case", str(file), "--db", other, "--as-of", day])
    capsys.readouterr()

    def plan(*words: str) -> str:
        main(["plan", *words, "--format", "json", "--as-of", day])
        return capsys.readouterr().out

    by_browser = plan("Invented Person", "--db", str(place.record))
    assert len(by_browser) > 1000
    assert by_browser == plan("Invented Person", "--db", other)
    # A case file has no block that runs; of the answers alone the plans are the same as well.
    with open_records(str(place.record), case.as_of) as records:
        (client,) = records.clients()
        kept = standing(records.history(client)).answers
    answers, problems = check_answers(kept, kb)
    assert not problems
    again = tmp_path / "again.yaml"
    again.write_text(case_text("Invented Person", case.as_of, answers), "utf-8")
    assert plan(str(again)) == plan(str(file))


def test_age_comes_first_and_each_answer_is_kept_at_once(house: Make) -> None:
    place = house(alone=True)
    with place.visitor(Role.CLIENT) as visitor:
        assert "/me/begin" in visitor.get("/me").text
        page = begin(visitor)
        assert fact_on(page.text) == "client.age_years"
        page = visitor.post("/me/ask", data={"fact": "client.age_years", "answer": "31"})
        assert fact_on(page.text) == "client.sex_for_equations"
    # Killed here: another process finds the answer, and goes on behind it.
    again = House(place.folder, alone=True)
    with again.visitor(Role.CLIENT) as visitor:
        assert "You began before" in visitor.get("/me").text
        page = visitor.get("/me/ask")
        assert fact_on(page.text) == "client.sex_for_equations"
        page = visitor.post("/me/ask", data={"fact": "client.sex_for_equations", "do": "back"})
        assert 'value="31' in page.text
    assert draft_of(place.folder).stat().st_mode & 0o77 == 0


def test_what_cannot_be_read_is_said_beside_the_field_and_stays_typed(house: Make) -> None:
    with house(alone=True).visitor(Role.CLIENT) as visitor:
        begin(visitor)
        page = visitor.post("/me/ask", data={"fact": "client.age_years", "answer": "thirty <b>"})
        assert page.status_code == 400
        assert 'value="thirty &lt;b&gt;"' in page.text
        assert 'aria-describedby="wrong how' in page.text
        page = visitor.post("/me/ask", data={"fact": "client.age_years", "answer": ""})
        assert page.status_code == 400
        assert "Nothing was chosen" in page.text
        page = visitor.post("/me/ask", data={"fact": "client.age_years", "answer": "310"})
        assert page.status_code == 400
        assert 'value="310"' in page.text


def test_a_form_sent_twice_or_from_an_old_page_changes_nothing(house: Make) -> None:
    place = house(alone=True)
    with place.visitor(Role.CLIENT) as visitor:
        begin(visitor)
        for _ in range(2):
            page = visitor.post("/me/ask", data={"fact": "client.age_years", "answer": "31"})
        assert fact_on(page.text) == "client.sex_for_equations"
        assert draft_of(place.folder).read_text("utf-8").count("client.age_years") == 1


def test_two_windows_see_each_other_s_answers(house: Make) -> None:
    place = house(alone=True)
    with place.visitor(Role.CLIENT) as one, place.visitor(Role.CLIENT) as two:
        begin(one)
        two.get("/me/ask")
        one.post("/me/ask", data={"fact": "client.age_years", "answer": "31"})
        page = two.post("/me/ask", data={"fact": "client.age_years", "answer": "77"})
        assert fact_on(page.text) == "client.sex_for_equations"
    assert '"value": 77' not in draft_of(place.folder).read_text("utf-8")


def test_an_urgent_sign_is_told_at_once_whatever_is_asked_for_next(house: Make) -> None:
    place = house(alone=True)
    with place.visitor(Role.CLIENT) as visitor:
        begin(visitor)
        answer_all(visitor, {"client.age_years": 31.0}, MONDAY, until="screen.symptom_now")
        form = {"fact": "screen.symptom_now", "answer": ["chest_pain"]}
        page = visitor.post("/me/ask", data=form)
        assert "call your local emergency number" in page.text
        assert "call your local emergency number" in visitor.get("/me/ask").text
    again = House(place.folder, alone=True)
    with again.visitor(Role.CLIENT) as visitor:
        assert "call your local emergency number" in visitor.get("/me/ask").text
        page = visitor.post("/me/ask", data={"do": "read"})
        assert fact_on(page.text) != "screen.symptom_now"


def test_every_list_can_be_answered_with_none_of_these(house: Make) -> None:
    kb = knowledge(None, None)
    with house(alone=True).visitor(Role.CLIENT) as visitor:
        begin(visitor)
        answers = completed({"client.age_years": 31.0}, form_of(kb, MONDAY))[0]
        answer_all(visitor, answers, MONDAY, until="screen.symptom_now")
        page = visitor.post("/me/ask", data={"fact": "screen.symptom_now", "do": "none"})
        assert page.status_code == 200
        assert fact_on(page.text) == "screen.ill_today"


@pytest.fixture(scope="module")
def draft_at_the_end(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Answer everything but the last question once; return the draft."""
    place = House(tmp_path_factory.mktemp("once") / "house", alone=True)
    answers = read_case(_case("four_days"), knowledge(None, None)).answers
    with place.visitor(Role.CLIENT) as visitor:
        begin(visitor)
        answer_all(visitor, answers, MONDAY)
    return draft_of(place.folder).read_text("utf-8")


@pytest.fixture
def at_the_end(house: Make, draft_at_the_end: str) -> House:
    place = house(alone=True)
    draft_of(place.folder).write_text(draft_at_the_end, "utf-8")
    return place


def test_the_list_of_answers_leads_to_a_question_and_back(at_the_end: House) -> None:
    with at_the_end.visitor(Role.CLIENT) as visitor:
        page = visitor.get("/me/answers")
        assert "How old are you?" in page.text
        assert "harming" not in page.text
        # The last question is no entry of the list, whatever number is sent.
        form = form_of(knowledge(None, None), MONDAY)
        hidden = str(form.index_of(SESSION_ONLY))
        assert visitor.post("/me/answers", data={"number": hidden}).url.path == "/me/answers"
        for wrong in ("", "x", "999", "-1"):
            assert visitor.post("/me/answers", data={"number": wrong}).url.path == "/me/answers"
        page = visitor.post("/me/answers", data={"number": "0"})
        assert fact_on(page.text) == "client.age_years"
        page = visitor.post("/me/ask", data={"fact": "client.age_years", "answer": "41"})
        assert page.url.path == "/me/answers"
        assert "<b>41" in page.text


def test_a_yes_to_the_last_question_is_answered_on_the_spot_and_kept_nowhere(
    at_the_end: House,
) -> None:
    with at_the_end.visitor(Role.CLIENT) as visitor:
        page = visitor.get("/me/last")
        before = _held(at_the_end)
        # Everyone reads where help is, before any answer.
        assert "Help exists day and night" in page.text
        page = visitor.post("/me/last", data={"answer": "yes"}, follow_redirects=False)
        assert page.status_code == 200
        assert "Thank you for saying this here" in html.unescape(page.text)
        for safe, said in (("yes", "someone tonight"), ("no", "emergency number now")):
            assert said in visitor.post("/me/safe", data={"safe": safe}).text
        assert _held(at_the_end) == before
        # No session knows it either: what is held is as it was, and the question is asked again.
        *_, session = at_the_end.sessions._open.values()
        held = session.held["intake"]
        assert SESSION_ONLY not in held.dialogue.answers
        assert not held.dialogue.aside
        assert visitor.get("/me").url.path == "/me"
        assert "You began before" in visitor.get("/me").text


@pytest.mark.parametrize("said", ["no", "not_sure", "rather_not", ""])
def test_any_other_answer_is_kept_as_little(at_the_end: House, said: str) -> None:
    with at_the_end.visitor(Role.CLIENT) as visitor:
        visitor.get("/me/last")
        page = visitor.post("/me/last", data={"answer": said})
        assert page.url.path == "/me"
        assert "/me/begin" not in page.text
        # These pages are for one who begins.
        for path in ("/me/ask", "/me/answers", "/me/last"):
            assert visitor.get(path).status_code == 404
    assert SESSION_ONLY not in _held(at_the_end)


def test_a_name_that_is_none_is_refused_with_what_was_typed(house: Make) -> None:
    with house(alone=True).visitor(Role.CLIENT) as visitor:
        page = begin(visitor, "x" * 201)
        assert page.status_code == 400
        assert "x" * 201 in page.text
        assert begin(visitor, "").status_code == 200


def test_measures_in_pounds_and_inches_mean_the_same(house: Make) -> None:
    place = house(alone=True)
    with place.visitor(Role.CLIENT) as visitor:
        begin(visitor)
        answers = {"client.age_years": 31.0, "client.sex_for_equations": "female"}
        answer_all(visitor, answers, MONDAY, until="client.height_cm")
        form = {"fact": "client.height_cm"}
        page = visitor.post("/me/ask", data={**form, "do": "units"})
        assert "Units are now imperial" in page.text
        visitor.post("/me/ask", data={**form, "answer": "5 ft 6"})
        page = visitor.post("/me/ask", data={"fact": "client.weight_kg", "do": "back"})
        assert re.search(r'value="5 ft 6', html.unescape(page.text))
    assert '"value": 167.6' in draft_of(place.folder).read_text("utf-8")


def test_only_one_who_is_alone_begins_here(house: Make) -> None:
    place = house()
    with place.visitor(Role.CLIENT) as visitor:
        assert visitor.get("/me").status_code == 404
        assert begin(visitor).status_code == 404


def test_german_pages_ask_in_german(house: Make) -> None:
    with house(alone=True, language="de").visitor(Role.CLIENT) as visitor:
        page = begin(visitor)
        assert 'lang="de"' in page.text
        assert heading_on(page.text).startswith("Wie alt")
        fields = fields_for("client.age_years", 31.0, MONDAY)
        page = visitor.post("/me/ask", data={"fact": "client.age_years", **fields})
        assert "Weiß nicht" in page.text
        page = visitor.post("/me/ask", data={"fact": fact_on(page.text), "answer": ""})
        assert "Noch ist nichts gewählt" in page.text
