"""The coach's work on one client: reviews, lines and the week changed by hand; the record afterwards."""

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from coach_support import COACH, at, copied, person, put_in, with_weeks, words
from starlette.testclient import TestClient
from web_support import House

from assistant.records.noted import noted_in
from assistant.web.sessions import Role

Make = Callable[..., House]
WEEKS = Path(__file__).parents[2] / "cases" / "records" / "four_days.csv"
LOOK = dt.date(2026, 3, 2)


@pytest.fixture(scope="module")
def gym(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Ines with the weeks of her record."""
    place = House(tmp_path_factory.mktemp("gym"))
    put_in(place, "Ines Farrow", "four_days")
    place.clock.today = LOOK
    with_weeks(place, "Ines Farrow", WEEKS)
    return place


@pytest.fixture
def desk(gym: House, house: Make) -> House:
    place = house()
    place.clock.today = gym.clock.today
    copied(gym, place)
    return place


def test_the_review_shows_before_and_after_what_accepting_then_keeps(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        shown = visitor.get(f"{at(desk)}/review")
        assert shown.status_code == 200
        before = words(shown.text)
        assert "What accepting changes" in before
        assert "Lift by lift" in before
        assert len(person(desk).versions) == 1  # looking keeps nothing
        done = visitor.post(
            f"{at(desk)}/review", data={"do": "accept", "by": COACH, "reason": "agreed"}
        )
        assert "version 2 of the plan" in done.text
        kept = person(desk).versions[-1]
        assert (kept.cause, kept.by, kept.reason) == ("review", COACH, "agreed")
        again = visitor.post(f"{at(desk)}/review", data={"do": "accept", "by": COACH})
        assert again.status_code == 400
        assert "a review was accepted today already (version 2)" in again.text
        assert "Accept with" not in visitor.get(f"{at(desk)}/review").text
    assert len(person(desk).versions) == 2
    target = kept.facts.get("energy.target_kcal_per_day")
    if (
        target is not None
        and target != person(desk).versions[0].facts["energy.target_kcal_per_day"]
    ):
        assert f"{target:.0f}" in before.replace(",", "")


def test_the_message_is_about_what_was_accepted(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        before = message(visitor, desk)
        visitor.post(f"{at(desk)}/review", data={"do": "accept", "by": COACH})
        assert message(visitor, desk) == before
    assert "Your exercises have had their time" in before


def message(visitor: TestClient, desk: House) -> str:
    page = visitor.get(f"{at(desk)}/message").text
    return re.findall(r"<textarea[^>]*>(.*?)</textarea>", page, re.DOTALL)[0]


def test_a_review_is_refused_with_who_and_why_and_the_plan_stays(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        wordless = visitor.post(
            f"{at(desk)}/review", data={"do": "refuse", "by": COACH, "reason": ""}
        )
        assert wordless.status_code == 400
        assert "Why: allowed: one line" in wordless.text
        done = visitor.post(
            f"{at(desk)}/review", data={"do": "refuse", "by": COACH, "reason": "the scale was new"}
        )
        assert "stays as it is" in done.text
        assert "the scale was new" in visitor.get(f"{at(desk)}/review").text
    assert len(person(desk).versions) == 1
    with desk.serving.desk().opened() as records:
        (note,) = noted_in(records.history(records.client("Ines Farrow")))
    assert note == ("review_refused", LOOK, COACH, "the scale was new")


def test_a_review_is_accepted_with_one_line_changed(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        page = visitor.get(f"{at(desk)}/review").text
        room = re.search(r'value="food.protein"[^>]*>([^<]+)<', page)
        assert room is not None
        low, high = re.findall(r"([\d.]+) to ([\d.]+)", room[1])[0]
        typed = {"line": "food.protein", "to": low}
        shown = visitor.post(f"{at(desk)}/review/change", data=typed)
        assert shown.status_code == 200
        assert "Accept with this change" in shown.text
        assert len(person(desk).versions) == 1
        far = visitor.post(f"{at(desk)}/review/change", data={**typed, "to": str(float(high) + 1)})
        assert far.status_code == 400
        assert "not more than" in far.text
        wordless = visitor.post(f"{at(desk)}/review", data={**typed, "do": "accept", "by": COACH})
        done = visitor.post(
            f"{at(desk)}/review",
            data={**typed, "do": "accept", "by": COACH, "reason": "she likes fish"},
        )
        assert "version 2 of the plan" in done.text
    assert wordless.status_code == 400
    now = person(desk)
    assert now.versions[-1].cause == "review"
    (change,) = now.case.overrides
    assert (change.line, change.to, change.by) == ("food.protein", float(low), COACH)
    assert now.versions[-1].facts["protein.g_per_day"] == float(low)


def test_a_line_is_changed_after_its_moves_are_shown_and_withdrawn(desk: House) -> None:
    here = f"{at(desk)}/override"
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        typed = {"line": "recovery.sleep", "to": "9"}
        page = visitor.get(here).text
        low, high = re.findall(r"recovery.sleep[^<]*?(\d[\d.]*) to (\d[\d.]*)", page)[0]
        typed["to"] = high
        moved = visitor.post(here, data={**typed, "do": "show"})
        assert "What it moves" in moved.text
        assert person(desk).case.overrides == ()
        assert visitor.post(here, data={**typed, "do": "keep", "reason": ""}).status_code == 400
        kept = visitor.post(
            here, data={**typed, "do": "keep", "by": COACH, "reason": "asked for it"}
        )
        assert "Kept: version 2" in kept.text
        mark = re.search(r'name="mark" value="(\w+)"', kept.text)
        assert mark is not None
        gone = {"mark": mark[1], "by": COACH, "reason": "enough"}
        assert "Kept: version 3" in visitor.post(f"{here}/withdraw", data=gone).text
        assert visitor.post(f"{here}/withdraw", data=gone).status_code == 400
    assert person(desk).case.overrides == ()
    assert [v.reason for v in person(desk).versions[1:]] == ["asked for it", "enough"]
    assert low < high


def first_line(visitor: TestClient, desk: House, skip: int = 0) -> str:
    paths = re.findall(r'href="(/desk/c/\w+/week/\w+/\d+)"', visitor.get(f"{at(desk)}/week").text)
    return paths[skip]


def form_of(page: str, kind: str) -> dict[str, str]:
    """Return what a form of a line sends as it stands."""
    part = page.split(f'name="kind" value="{kind}"')[1].split("</form>", maxsplit=1)[0]
    sent = dict(re.findall(r'<input[^>]* name="(\w+)"[^>]* value="([^"]*)"', part))
    for name, options in re.findall(r'<select[^>]* name="(\w+)">(.*?)</select>', part, re.DOTALL):
        sent[name] = re.findall(r'value="([^"]*)"', options)[0]
    return {"kind": kind, **sent}


@pytest.mark.parametrize(
    "kind",
    ["replace", "sets", *(pytest.param(kind, marks=pytest.mark.slow)
                          for kind in ("repetitions", "order", "move", "pin", "remove", "never"))],
)  # fmt: skip
def test_every_change_of_a_line_is_priced_and_kept(desk: House, kind: str) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        page = visitor.get(first_line(visitor, desk)).text
        sent = form_of(page, kind)
        if kind in {"sets", "order"}:
            sent["number"] = str(int(sent["number"]) + 1)
        price = visitor.post(f"{at(desk)}/week/price", data=sent)
        assert price.status_code == 200, words(price.text)
        assert "What it costs" in price.text
        assert "Weekly sets that change" in price.text
        assert len(person(desk).versions) == 1
        silent = visitor.post(f"{at(desk)}/week/keep", data={**sent, "by": COACH, "reason": ""})
        assert silent.status_code == 400
        assert "What it costs" in silent.text  # the price and what was typed are still there
        kept = visitor.post(
            f"{at(desk)}/week/keep", data={**sent, "by": COACH, "reason": "the shoulder likes it"}
        )
        assert "Kept: version 2" in kept.text
    now = person(desk)
    assert (now.versions[-1].cause, now.versions[-1].by) == ("edit", COACH)
    (edit,) = now.case.week.edits
    assert (edit.kind, edit.by, edit.reason) == (kind, COACH, "the shoulder likes it")


@pytest.mark.slow
def test_the_rest_is_arranged_anew_for_who_asks(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        sent = form_of(visitor.get(first_line(visitor, desk)).text, "remove")
        price = visitor.post(f"{at(desk)}/week/price", data={**sent, "repair": "yes"})
        assert "with the rest arranged anew" in price.text
        kept = {**sent, "repair": "yes", "by": COACH, "reason": "the hip"}
        assert "Kept: version 2" in visitor.post(f"{at(desk)}/week/keep", data=kept).text
    days = person(desk).kept
    assert days is not None
    first = person(desk).versions[0].digest["week"]
    assert days.as_written() != first


def test_an_exercise_is_added_put_in_another_place_and_taken_back(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        day = first_line(visitor, desk).rsplit("/", 1)[0]
        sent = form_of(visitor.get(day).text, "add")
        sent["sets"] = "2"
        why = {"by": COACH, "reason": "wants it"}
        assert "Kept: version 2" in visitor.post(f"{at(desk)}/week/keep", data={**sent, **why}).text
        page = visitor.get(f"{at(desk)}/week").text
        assert "added" in words(page.split("Changed by hand")[1])
        mark = re.search(r'name="mark" value="(\w+)"', page)
        assert mark is not None
        price = visitor.post(f"{at(desk)}/week/price", data={"mark": mark[1]})
        assert "Withdrawn:" in price.text
        gone = visitor.post(f"{at(desk)}/week/keep", data={"mark": mark[1], **why})
        assert "Kept: version 3" in gone.text
        late = visitor.post(f"{at(desk)}/week/keep", data={"mark": mark[1], **why})
    assert late.status_code == 400
    assert "taken back meanwhile" in late.text
    assert person(desk).case.week.edits == ()


def test_a_change_that_cannot_be_is_one_line(desk: House) -> None:
    with desk.visitor(Role.COACH, name=COACH) as visitor:
        wrong = visitor.post(f"{at(desk)}/week/price", data={"kind": "explode", "exercise": "x"})
        many = form_of(visitor.get(first_line(visitor, desk)).text, "sets")
        forty = visitor.post(f"{at(desk)}/week/price", data={**many, "number": "40"})
        words_in = visitor.post(f"{at(desk)}/week/price", data={**many, "number": "four"})
        assert visitor.get(f"{at(desk)}/week/wed/99").status_code == 404
        assert visitor.get(f"{at(desk)}/week/nope").status_code == 404
    assert (wrong.status_code, forty.status_code, words_in.status_code) == (400, 400, 400)
    assert "allowed: replace, add" in wrong.text
    assert "whole number" in forty.text
    assert "is not a whole number" in words_in.text
    assert "--" not in words(forty.text).split("The week of")[1][:300]
