"""The plan as text: short, in the order of the page, and every name in its margin can be typed to `why`.

Outside source: none; 120 lines are two screens and 80 columns one terminal (common practice, no source).
"""

import re

import pytest
from page_cases import NAMES, ROOT, book, page, planner_of, readable, week

from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.explain.asked import meant
from assistant.model.rules import Audience
from assistant.plan.week import for_reader
from assistant.report.plan_text import PlanText, WeekRows
from assistant.report.text import same_reason
from assistant.report.week_account import gives_way_text
from assistant.report.week_text import is_place, line_at

MOST = {"coach": 120, "client": 80}
# What the command prints under the text: where to read on, and for a coach what to do next.
UNDER = {"coach": 2, "client": 1}
# The longest of each kind, the others under `slow`.
LONGEST = ("four_days", "refer_first", "six_days", "stop_today")
CASES = [pytest.param(name, marks=() if name in LONGEST else pytest.mark.slow) for name in NAMES]
PLACE = re.compile(r"^(mon|tue|wed|thu|fri|sat|sun) \d+ [ *]", re.MULTILINE)


def text_of(name: str, audience: Audience, *, full: bool = False) -> PlanText:
    planner = planner_of(name)
    case = read_case(ROOT / "cases" / f"{name}.yaml", book())
    narrator = planner.narrator(planner.run(case), audience)
    solved = week(name)
    rows = None
    if solved is not None:
        shown = for_reader(solved, audience)
        rows = WeekRows(shown, after=gives_way_text(shown, narrator.phrases, audience))
    return PlanText(planner.plan(case, narrator, solved), narrator, rows, full)


@pytest.mark.parametrize("audience", ["coach", "client"])
@pytest.mark.parametrize("name", CASES)
def test_the_text_is_short_and_fits_a_terminal(name: str, audience: Audience) -> None:
    rows = text_of(name, audience).text().splitlines()
    assert len(rows) + UNDER[audience] <= MOST[audience]
    assert max(map(len, rows)) <= 80
    assert not [row for row in rows if "why:" in row or "is not free" in row]


@pytest.mark.parametrize("audience", ["coach", "client"])
@pytest.mark.parametrize("name", CASES)
def test_every_name_in_the_margin_is_that_line(name: str, audience: Audience) -> None:
    shown = text_of(name, audience, full=True)
    text, solved = shown.text(), shown.week
    for line in shown.plan.lines:
        assert f"\n{line.typed}  " in text
        for typed in (line.typed, line.id):
            found = meant(shown.plan, shown.narrator, typed)
            assert (found.line, found.keys) == (line, line.facts)
            assert found.keys, "why has nothing to say of a line without facts"
    places = [match.group().strip(" *") for match in PLACE.finditer(text)]
    assert len(places) == (sum(len(s.lines) for s in solved.programme.sessions) if solved else 0)
    for place in places:
        assert is_place(place)
        assert solved is not None
        day, order = place.split()
        (line_there,) = [
            line
            for session in solved.programme.sessions
            if session.day == day
            for line in session.lines
            if line.order == int(order)
        ]
        rows = line_at(place, solved.programme, shown.narrator.phrases, audience)
        assert f"{place}  {line_there.name}" in "\n".join(rows)


def unexplained(text: str) -> str:
    """Return a text without words of the trade in brackets: a client reads each of them once."""
    return re.sub(r" \([a-z ]+\)", "", " ".join(text.split()))


def test_a_word_of_the_trade_is_explained_once() -> None:
    text, html = text_of("four_days", "client", full=True).text(), page("four_days")
    for label in ("front thighs (quads)", "inner thighs (adductors)", "sides of the back (lats)"):
        plain = label.partition(" (")[0]
        for shown in (" ".join(text.split()).casefold(), readable(html).casefold()):
            assert shown.count(label) == 1, label
            assert shown.index(label) == shown.index(plain), "the first time it is met"


@pytest.mark.parametrize("audience", ["coach", "client"])
def test_the_whole_holds_what_the_short_one_says_and_every_line(audience: Audience) -> None:
    whole = " ".join(text_of("four_days", audience, full=True).text().split())
    shown = text_of("four_days", audience)
    for before, line in zip((None, *shown.plan.lines), shown.plan.lines, strict=False):
        assert unexplained(line.text) in unexplained(whole)
        assert line.reason in whole or same_reason(before, line) or audience == "client"
    assert shown.week is not None
    for session in shown.week.programme.sessions:
        for line_there in session.lines:
            assert f"{session.day} {line_there.order} {line_there.name}" in whole


def test_goal_and_phase_stand_near_the_top() -> None:
    for audience, goal in (("coach", "Goal: build muscle"), ("client", "Your goal: build muscle")):
        top = " ".join(text_of("four_days", audience).text().splitlines()[:4])
        assert goal in top
        assert "Build until 2026-04-18" in top
    # What this client would like is left off their page.
    assert "Your goal" not in text_of("refer_first", "client").text()


def _first_lift(day: str) -> str:
    week = text_of("four_days", "coach").week
    assert week is not None
    return next(s.lines[0].name for s in week.programme.sessions if s.day == day)


def test_page_and_text_have_one_order() -> None:
    """The client's page and text: whom to see, the next session, food, sleep, the next date, other days."""
    html, text = readable(page("four_days")), text_of("four_days", "client").text()
    kcal, clear = "Eat about 2500 kcal a day", "Nothing you told us stands in the way"
    wanted = (
        clear,
        "Tuesday 13 January",
        _first_lift("tue"),
        kcal,
        "aim for 8 hours",
        _first_lift("mon"),
    )
    for shown in (html, text):
        places = [shown.index(words) for words in wanted]
        assert places == sorted(places)


def test_a_place_that_is_none_is_one_clear_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["why", str(ROOT / "cases" / "four_days.yaml"), "mon", "99"]) == 2
    said = capsys.readouterr().err.strip()
    assert len(said.splitlines()) == 1
    week = text_of("four_days", "coach").week
    assert week is not None
    monday = next(s for s in week.programme.sessions if s.day == "mon")
    assert f"mon 1 to mon {len(monday.lines)}" in said
