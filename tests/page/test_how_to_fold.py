"""Under each exercise on the client's page stands how it is done, folded, in the page's language."""

import dataclasses
import html
import re

import pytest
from page_cases import ROOT, book, page, planner_of, week

from assistant.casefiles import read_case
from assistant.plan.how_to import how_to
from assistant.plan.language import localised, localised_run, read_language
from assistant.report.page.whole import page_html

NAME = "four_days"
FOLD = re.compile(r'<tr class="how">.*?</tr>', re.DOTALL)


def _folds(text: str) -> list[str]:
    return [html.unescape(fold) for fold in FOLD.findall(text)]


@pytest.mark.parametrize("code", ["en", "de"])
def test_each_exercise_of_the_week_has_its_fold(code: str) -> None:
    programme = week(NAME)
    assert programme is not None
    lines = [line for session in programme.sessions for line in session.lines]
    folds = _folds(page(NAME, "client", code))
    assert len(folds) == len(lines) > 10
    said = " ".join(folds)
    for line in lines:
        card = how_to(book(), line.exercise, read_language(book(), code))
        assert card is not None
        for text in (card.set_up, *card.steps, card.feel, card.stop, *sum(card.faults, ())):
            assert text in said
        assert card.watch not in said, "that is for the coach"


def test_it_is_closed_and_the_coach_has_none() -> None:
    assert all("<details><summary>" in fold for fold in _folds(page(NAME)))
    assert _folds(page(NAME, "coach")) == []
    assert _folds(page("stop_today")) == []


def test_it_names_no_other_exercise() -> None:
    """What is easier or harder may be left out for this client."""
    english = read_language(book(), "en").furniture
    for fold in _folds(page(NAME)):
        for key in ("how_easier", "how_harder", "how_without_kit", "how_watch"):
            assert f"<b>{english[key]}.</b>" not in fold


def test_a_line_with_a_load_needs_no_first_load() -> None:
    programme = week(NAME)
    assert programme is not None
    first = programme.sessions[0].lines[0]
    card = how_to(book(), first.exercise, read_language(book(), "en"))
    assert card is not None
    line = dataclasses.replace(first, load_kg=40.0)
    session = dataclasses.replace(programme.sessions[0], lines=(line,))
    loaded = dataclasses.replace(programme, sessions=(session,))
    assert card.first_load in " ".join(_folds(page(NAME)))
    assert card.first_load not in " ".join(_folds(_page_with(loaded)))


def test_a_book_that_tells_nothing_has_no_folds() -> None:
    programme = week(NAME)
    assert _folds(_page_with(programme, dataclasses.replace(book(), how_to={}))) == []


def _page_with(programme: object, kb: object = None) -> str:
    kb = kb or book()
    english = read_language(kb, "en")
    planner = dataclasses.replace(planner_of(NAME), kb=localised(kb, english))
    case = read_case(ROOT / "cases" / f"{NAME}.yaml", kb)
    narrator = planner.narrator(localised_run(planner.run(case), english), "client")
    return page_html(planner.plan(case, narrator, programme), narrator, english, english)
