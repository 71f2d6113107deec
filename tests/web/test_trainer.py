"""The head trainer's pages: from a rule to its number, to whose plans move, and back; the log and the checks.

Expected figures are those of the command line on the same record (`rules show`, `rules set`, `log`).
"""

import datetime as dt
import html
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from web_support import House, with_clients

from assistant.cli.main import main
from assistant.web.sessions import Role

Make = Callable[..., House]
ROOT = Path(__file__).parents[2]
NUMBER = "protein.per_kg_gain"


def words(page: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", page))


def test_the_book_is_searched_as_by_the_command(
    house: Make, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rules", "list", "protein", "--stage", "fuel"]) == 0
    listed = capsys.readouterr().out.splitlines()
    with house().visitor(Role.TRAINER) as visitor:
        found = visitor.get("/book", params={"text": "protein", "stage": "fuel"})
        ids = re.findall(r'href="/book/rule/([A-Z0-9_-]+)"', found.text)
        assert ids == [row.split()[0] for row in listed[:-1]]
        assert listed[-1] in words(found.text)
        wrong = visitor.get("/book", params={"reads": "client.slep_hours"})
    assert wrong.status_code == 400
    assert "did you mean" in words(wrong.text)


def test_a_card_says_what_the_command_says(house: Make, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "show", "PRO-200"]) == 0
    told = [row.removeprefix("  - ") for row in capsys.readouterr().out.splitlines()]
    with house().visitor(Role.TRAINER) as visitor:
        page = " ".join(words(visitor.get("/book/rule/PRO-200").text).split())
        assert visitor.get("/book/rule/PRO-9999").status_code == 404
        assert visitor.get("/book/number/no.such").status_code == 404
    for row in told[1:]:
        assert " ".join(row.removeprefix("stage ").split()) in page, row


def test_a_card_names_the_clients_it_fires_for(house: Make) -> None:
    place = house()
    with_clients(place, "four_days", "stop_today")
    with place.visitor(Role.TRAINER) as visitor:
        stop = place.serving.desk().standing
        people = {}
        for client in visitor.app.state.opening().clients():  # type: ignore[attr-defined]
            run = stop(visitor.app.state.opening(), client.handle).run()  # type: ignore[attr-defined]
            people[client.name] = {record.rule_id for record in run.records.fired()}
        first, second = people.values()
        for rule in (min(first - second), min(second - first), min(first & second)):
            page = visitor.get(f"/book/rule/{rule}").text
            for name, fired in people.items():
                assert (name in page) == (rule in fired), (rule, name)


def test_a_number_is_changed_only_after_whose_plans_move_was_shown(
    house: Make, tmp_path: Path
) -> None:
    settings = tmp_path / "house.yaml"
    place = house(more={"house": settings})
    with_clients(place, "four_days", "stop_today")
    kb = place.serving.desk().kb
    parameter = kb.parameters["sleep.target"]
    was = parameter.values[-1].value
    new = was + parameter.step
    page = f"/book/number/{parameter.id}"
    with place.visitor(Role.TRAINER) as visitor:
        assert parameter.title in words(visitor.get(page).text).lower()
        # Without a look nothing is kept.
        assert visitor.post("/book/moves", data={"do": "keep"}).url.path == "/book"
        shown = visitor.post(page, data={"value": f"{new:g}", "reason": "the club sleeps more"})
        assert shown.url.path == "/book/moves"
        told = words(shown.text)
        assert "1 of 2 plans move" in told
        assert "Client Number0" in told
        assert "Client Number1" not in told
        assert not settings.exists()
        kept = visitor.post("/book/moves", data={"do": "keep"})
        assert kept.url.path == page
        assert f"This house: {new:g}" in words(kept.text)
        assert "the club sleeps more" in words(kept.text)
        assert "Robin Vale" in words(kept.text)
        # A second press finds nothing in hand.
        assert visitor.post("/book/moves", data={"do": "keep"}).url.path == "/book"
        # What is kept is what every page reads from now on.
        assert place.serving.desk().kb.overlay == {parameter.id: new}
    assert "sleeps more" in settings.read_text("utf-8")


def test_a_change_that_was_shown_with_another_book_is_shown_again(
    house: Make, tmp_path: Path
) -> None:
    settings = tmp_path / "house.yaml"
    place = house(more={"house": settings})
    with place.visitor(Role.TRAINER) as one, place.visitor(Role.TRAINER) as other:
        number = place.serving.desk().kb.parameters["sleep.target"]
        for visitor, steps in ((one, 1), (other, 2)):
            value = f"{number.values[-1].value + steps * number.step:g}"
            visitor.post(
                "/book/number/sleep.target", data={"value": value, "reason": "the club asked"}
            )
        one.post("/book/moves", data={"do": "keep"})
        before = settings.read_text("utf-8")
        assert other.post("/book/moves", data={"do": "keep"}).url.path == "/book/moves"
        assert settings.read_text("utf-8") == before
        other.post("/book/moves", data={"do": "keep"})
        assert settings.read_text("utf-8") != before


@pytest.mark.parametrize(
    ("value", "reason", "line"),
    [
        ("much", "r", "is not a number"),
        ("1e9", "r", "allowed:"),
        ("nan", "r", "allowed:"),
        ("8,01", "r", "in steps of"),
        ("8", "", "one line"),
    ],
)
def test_what_is_not_allowed_is_said_beside_its_field(
    house: Make, tmp_path: Path, value: str, reason: str, line: str
) -> None:
    settings = tmp_path / "house.yaml"
    place = house(more={"house": settings})
    with place.visitor(Role.TRAINER) as visitor:
        form = {"value": value, "reason": reason or "\t"}
        answer = visitor.post("/book/number/sleep.target", data=form)
    assert answer.status_code == 400
    assert line in words(answer.text)
    assert f'value="{value}"' in answer.text
    assert not settings.exists()


def test_without_a_settings_file_it_is_said_how(house: Make) -> None:
    with house().visitor(Role.TRAINER) as visitor:
        page = words(visitor.get("/book/number/sleep.target").text)
        assert "whyplan serve --house FILE" in page
        form = {"value": "8", "reason": "the club asked"}
        assert visitor.post("/book/number/sleep.target", data=form).status_code == 404


def test_a_change_that_leaves_somebody_without_a_plan_is_not_offered(
    house: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assistant.clients.compare import Moves  # noqa: PLC0415
    from assistant.web.trainer import numbers  # noqa: PLC0415

    settings = tmp_path / "house.yaml"
    place = house(more={"house": settings})
    (token,) = with_clients(place, "four_days")
    broken = Moves(token, None, fault="the engines disagree", is_broken=True)
    monkeypatch.setattr(numbers, "moved_by", lambda *_: iter([broken]))
    number = place.serving.desk().kb.parameters["sleep.target"]
    with place.visitor(Role.TRAINER) as visitor:
        form = {"value": f"{number.values[-1].value + number.step:g}", "reason": "the club asked"}
        shown = visitor.post("/book/number/sleep.target", data=form)
        assert "without a plan" in words(shown.text)
        assert "Keep it" not in shown.text
        visitor.post("/book/moves", data={"do": "keep"})
    assert not settings.exists()


def test_checks_are_run_and_their_findings_shown(house: Make, tmp_path: Path) -> None:
    place = house()
    with place.visitor(Role.TRAINER) as visitor:
        assert "Nothing to mend" in words(visitor.get("/book/check").text)
        ran = visitor.post("/book/check", data={"check": "evidence"})
        assert "rest on a source that was read" in words(ran.text)
        assert visitor.post("/book/check", data={"check": "mutation"}).status_code == 404
    settings = tmp_path / "house.yaml"
    settings.write_text("parameters: {}\n", encoding="utf-8")
    place = house(more={"house": settings})
    with place.visitor(Role.TRAINER) as visitor:
        visitor.get("/book")
        settings.write_text("parameters:\n  sleep.target: 99\n", encoding="utf-8")
        page = words(visitor.get("/book/check").text)
    assert "sleep.target" in page
    assert "Nothing to mend" not in page


def test_the_log_is_shown_verified_and_made_again(house: Make, tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    with house().visitor(Role.TRAINER) as visitor:
        assert "serve --log FILE" in words(visitor.get("/log").text)
    place = house(more={"log": log})
    case = str(ROOT / "cases" / "four_days.yaml")
    with place.visitor(Role.TRAINER) as visitor:
        assert "empty" in words(visitor.get("/log").text)
        for _ in range(2):
            assert main(["plan", case, "--no-week", "--log", str(log)]) == 0
        change = [
            "--line",
            "food.protein",
            "--to",
            "120",
            "--by",
            "L. Marrow",
            "--reason",
            "likes it",
        ]
        assert main(["log", "override", "1", *change, "--log", str(log)]) == 0
        page = words(visitor.get("/log").text)
        assert "The chain of 3 entries is whole: 2 plans, 1 changed by hand" in " ".join(
            page.split()
        )
        numbers = re.findall(
            r'<th scope="row">(?:<a href="/log/\d+">)?(\d+)', visitor.get("/log").text
        )
        assert numbers == ["3", "2", "1"]
        assert "1 of 2" in page
        again = visitor.post("/log/1")
        assert "1 decisions made again: 1 the same" in words(again.text)
        assert "likes it" in words(again.text)
        assert visitor.get("/log/3").status_code == 404
        assert visitor.get("/log/x").status_code == 404
        log.write_bytes(log.read_bytes().replace(b"likes it", b"likes io"))
        assert "The chain is broken" in words(visitor.get("/log").text)
        assert visitor.get("/log/1").status_code == 404


def test_what_the_screen_withheld_is_in_no_entry_of_the_log(house: Make, tmp_path: Path) -> None:
    """The page of an entry says what `log show` says, no more."""
    log = tmp_path / "log.jsonl"
    place = house(more={"log": log})
    case = ROOT / "cases" / "refer_first.yaml"
    assert main(["plan", str(case), "--no-week", "--log", str(log)]) in {0, 1}
    with place.visitor(Role.TRAINER) as visitor:
        page = words(visitor.get("/log/1").text)
    assert "withheld" in page


def test_days_move_what_fires(house: Make) -> None:
    """What was worked out for a day is not shown for another one."""
    place = house()
    with_clients(place, "four_days")
    with place.visitor(Role.TRAINER) as visitor:
        visitor.get("/book/rule/PRO-200")
        (known,) = place.serving.worked_out.values()
        place.clock.today += dt.timedelta(days=1)
        visitor.get("/book/rule/PRO-200")
        (other,) = place.serving.worked_out.values()
    assert known[0] != other[0]


def test_from_a_line_of_a_plan_to_whose_plans_move_and_back(house: Make, tmp_path: Path) -> None:
    """An audit by links and buttons alone: a line's why, its rule, its number, whose plans move, the client."""
    place = house(more={"house": tmp_path / "house.yaml"})
    (token,) = with_clients(place, "four_days")
    plan = f"/desk/c/{token}/plan"
    kb = place.serving.desk().kb

    def links(page: str, start: str) -> list[str]:
        return re.findall(rf'href="({start}[^"]+)"', page)

    with place.visitor(Role.COACH) as coach:
        page = coach.get(plan).text
        assert "SLP-010" in page
        assert links(page, "/book/") == []
    with place.visitor(Role.TRAINER) as visitor:
        assert plan in links(visitor.get(f"/desk/c/{token}").text, "/desk/c/")
        rule = "/book/rule/SLP-010"
        assert rule in links(visitor.get(plan).text, "/book/rule/")
        (number, *_) = links(visitor.get(rule).text, "/book/number/")
        parameter = kb.parameters[number.removeprefix("/book/number/")]
        value = parameter.values[-1].value + parameter.step
        form = {"value": f"{value:g}", "reason": "to see"}
        moved = visitor.post(number, data=form).text
        assert f"/desk/c/{token}" in links(moved, "/desk/c/")
        assert visitor.get(f"/desk/c/{token}").status_code == 200
