"""`why` as one tree: words find lines, sums can be worked out again, the weakest link is named, it fits a screen.

Outside source: plain arithmetic; the sums are parsed from what is printed and worked out here, apart from the engine.
"""

import dataclasses
import re
from functools import partial
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.clients.book import knowledge
from assistant.explain.asked import meant
from assistant.explain.gap_words import value_words
from assistant.explain.picture import Node, picture, pictures
from assistant.explain.why import weakest_links
from assistant.model.case import Case
from assistant.model.facts import FactType
from assistant.model.sources import CERTAINTY_ORDER
from assistant.plan import Planner
from assistant.report.why_text import why_tree

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases" / "four_days.yaml")
MOST_LINES = 40  # one long reason may stand above the tree; the tree itself keeps to its room


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("calories", "energy.target_kcal_per_day"),
        ("energy.target_kcal_per_day", "energy.target_kcal_per_day"),
        ("protein", "protein.g_per_day"),
        ("carbs", "carbohydrate.g_per_day"),
        ("sleep", "sleep.target_hours"),
        ("maintenance", "energy.maintenance_kcal_per_day"),
        ("glutes sessions", "dose.sessions_per_week[glute_max]"),
        ("surplus", "energy.surplus_kcal_per_day"),
    ],
)
def test_words_people_type_find_the_line(
    planner: Planner, cases: dict[str, Case], typed: str, name: str
) -> None:
    case = cases["four_days"]
    narrator = planner.narrator(planner.run(case), "coach")
    found = meant(planner.plan(case, narrator), narrator, typed)
    assert name in found.keys, found


def test_every_number_can_be_said_with_its_unit(planner: Planner, cases: dict[str, Case]) -> None:
    narrator = planner.narrator(planner.run(cases["four_days"]), "coach")
    for fact in planner.kb.facts.values():
        if fact.type in {FactType.NUMBER, FactType.INTEGER}:
            said = value_words(narrator, fact.id, 4.0)
            assert not set("{}") & set(said), (fact.id, said)


def sums(node: Node) -> list[str]:
    return [*node.sums, *(each for below in node.below for each in sums(below))]


def test_every_printed_sum_can_be_worked_out_again(
    planner: Planner, cases: dict[str, Case]
) -> None:
    """Plain sums and differences, from the printed words alone."""
    tried = 0
    for case in cases.values():
        narrator = planner.narrator(planner.run(case), "coach")
        for key in narrator.run.facts:
            for text in dict.fromkeys(sums(picture(planner.compiled, narrator, key, 1))):
                said, result = text.rsplit(" = ", 1)
                if "(" in said or "\u00d7" in said or "not known" in said:
                    continue
                signs = re.split(r" ([+-]) ", said)
                numbers = [
                    re.findall(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?", part) for part in signs[::2]
                ]
                if any(len(found) != 1 for found in numbers):
                    continue
                total = float(numbers[0][0])
                for sign, found in zip(signs[1::2], numbers[1:], strict=True):
                    total += float(found[0]) * (1 if sign == "+" else -1)
                assert total == pytest.approx(float(result), rel=1e-4, abs=1e-3), text
                tried += 1
    assert tried > 30


def test_the_weakest_link_is_the_weakest(planner: Planner, cases: dict[str, Case]) -> None:
    order = CERTAINTY_ORDER
    for name in ("four_days", "older_lifter"):
        narrator = planner.narrator(planner.run(cases[name]), "coach")
        for key, fact in narrator.run.facts.items():
            if not fact.derivations:
                continue
            links = weakest_links(narrator, (key,))
            records = [narrator.run.derivation(each) for each in fact.derivations]
            lowest = max(order.index(record.weakest) for record in records)
            assert {order.index(link.grade) for link in links} == {lowest}, key


def test_a_tree_fits_a_screen(planner: Planner, cases: dict[str, Case]) -> None:
    long = []
    for case in cases.values():
        narrator = planner.narrator(planner.run(case), "coach")
        plan = planner.plan(case, narrator)
        for line in (line for section in plan.sections for line in section.lines if line.facts):
            found = meant(plan, narrator, line.id)
            text = why_tree(partial(pictures, planner.compiled, narrator), narrator, found)
            if len(text.splitlines()) > MOST_LINES:
                long.append((case.name, line.id, len(text.splitlines())))
    assert not long


def test_nothing_the_client_may_not_see_goes_into_a_sum(
    planner: Planner, cases: dict[str, Case]
) -> None:
    narrator = planner.narrator(planner.run(cases["refer_first"]), "client")
    hidden = [key for key in narrator.run.facts if narrator.hides(key)]
    assert hidden
    coach = planner.narrator(planner.run(cases["refer_first"]), "coach")
    for key in (each for each in narrator.run.facts if not narrator.hides(each)):
        for text in sums(picture(planner.compiled, narrator, key)):
            for other in hidden:
                value = coach.run.facts[other].value
                if isinstance(value, float) and value > 100:
                    assert f"{value:.6g}" not in text, (key, other)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("glutes monday", "Monday, lower"),
        ("hip thrust", "Hip thrust machine"),
        ("leg press", "- Leg press added on"),
    ],
)
def test_words_of_the_week_are_answered_from_the_week(
    typed: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["why", CASE, typed]) == 0
    out = capsys.readouterr().out
    assert said in out
    if typed == "glutes monday":
        assert "Tuesday" not in out


def test_one_of_a_unit_is_singular() -> None:
    words = knowledge(None, None).wording
    assert words.unit_words("mo", 1) == "month"
    assert words.unit_words("mo", 2) == "months"
    assert words.unit_words("{sets}/wk", 1) == "set a week"
    assert words.unit_words("g/[lb_av]/d", 0.7) == "g a day for each pound"


def test_a_word_that_means_nothing_is_one_clear_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["why", CASE, "moonwalk"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_the_end_of_what_has_no_range_is_the_value_itself(
    planner: Planner, cases: dict[str, Case]
) -> None:
    """As the engine reads it; measured in a client's own weeks, a number may come without a range."""
    said: list[str] = []
    for case in cases.values():
        run = planner.run(case)
        bare = {key: dataclasses.replace(f, low=None, high=None) for key, f in run.facts.items()}
        narrator = planner.narrator(dataclasses.replace(run, facts=bare), "coach")
        for key in bare:
            said += sums(picture(planner.compiled, narrator, key, 1))
    assert said
    assert not [text for text in said if "None" in text]
