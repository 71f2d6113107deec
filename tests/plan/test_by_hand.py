"""A coach's change of a line is part of the case: it binds every plan, and is said beside its line.

Which lines may be changed, and how far, is our judgement (rules/overrides.yaml), no source.
"""

import dataclasses
import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from shipped import planner_on

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.engine import durable
from assistant.engine.answers import starting_facts
from assistant.engine.session import run_plain
from assistant.engine.trial import Trial
from assistant.explain.picture import picture
from assistant.model.case import Case, Override
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner
from assistant.plan.language import read_language
from assistant.report.page.whole import page_html
from assistant.report.picture_text import outline
from assistant.report.plan_json import plan_document
from assistant.report.plan_text import PlanText

ROOT = Path(__file__).parents[2]
DAY = dt.date(2026, 1, 12)
TARGET = "energy.target_kcal_per_day"


@pytest.fixture(scope="module")
def ines(kb: KnowledgeBase) -> Case:
    return read_case(ROOT / "cases/four_days.yaml", kb)


@pytest.fixture(scope="module")
def made() -> Planner:
    return planner_on(DAY, "both" if durable.importable() else "clips")


def change(
    line: str, to: float | str, since: dt.date = DAY, until: dt.date | None = None
) -> Override:
    return Override(line, to, "L. Marrow", "hungry in the evening", since, until)


def with_changes(case: Case, *changes: Override, **answers: Any) -> Case:
    told = {name.replace("__", "."): value for name, value in answers.items()}
    return dataclasses.replace(case, overrides=changes, answers={**case.answers, **told})


def said(run: Run, key: str) -> Any:
    return run.facts[key].value


def test_what_follows_reads_the_figure_set_by_hand(made: Planner, ines: Case) -> None:
    """A gram of carbohydrate is 4 kcal; energy moves it and the fat and protein stay."""
    plain = made.run(ines)
    run = made.run(with_changes(ines, change("food.target", 2350)))
    fact = run.facts[TARGET]
    assert (fact.value, fact.method) == (2350, "by_hand")
    assert fact.ruled == said(plain, TARGET) != 2350
    assert (fact.low, fact.high) == (plain.facts[TARGET].low, plain.facts[TARGET].high)
    assert run.by_hand[TARGET].by == "L. Marrow"
    less = (said(plain, "carbohydrate.g_per_day") - said(run, "carbohydrate.g_per_day")) * 4
    assert less == pytest.approx(said(plain, TARGET) - 2350, abs=0.1)
    assert said(run, "protein.g_per_day") == said(plain, "protein.g_per_day")


def test_runs_without_an_engine_and_trials_read_it_too(made: Planner, ines: Case) -> None:
    run = made.run(with_changes(ines, change("food.target", 2350)))
    start = starting_facts(made.compiled, ines.answers, DAY).values
    alone = run_plain(made.compiled, start, CALCULATORS, by_hand={TARGET: 2350.0})
    carbohydrate = "carbohydrate.g_per_day"
    assert alone.facts.values[carbohydrate] == pytest.approx(said(run, carbohydrate))
    moving = ["client.minutes_per_session"]
    trial = Trial(made.compiled, run, CALCULATORS, moving, [carbohydrate, TARGET])
    tried = trial.facts({"client.minutes_per_session": 75.0})
    assert tried.values[TARGET] == 2350
    assert tried.values[carbohydrate] == pytest.approx(said(run, carbohydrate))


@pytest.mark.parametrize(
    ("asked", "answers", "why"),
    [
        (change("food.protein", 300), {}, "not more than"),
        (change("food.target", 1000), {}, "not less than"),
        (change("food.target", 2350), {"screen__weight_change_percent_per_week": 0.8,
                                       "screen__weeks_of_trend": 4.0}, "withholds energy_surplus"),
        (change("food.target", 2350), {"screen__measuring_feels": "upsetting"}, "withholds"),
        (change("training.dose[lats]", 40), {}, "not more than"),
        (change("training.block", 12), {}, "not more than"),
        (change("review.date", "2027-01-01"), {}, "not more than"),
    ],
)  # fmt: skip
def test_a_change_that_does_not_hold_is_said_and_changes_nothing(
    made: Planner, ines: Case, asked: Override, answers: dict[str, Any], why: str
) -> None:
    plain = made.run(with_changes(ines, **answers))
    case = with_changes(ines, asked, **answers)
    run = made.run(case)
    assert run.facts == plain.facts
    assert not run.by_hand
    ((aside, reason),) = run.set_aside
    assert aside == asked
    assert why in reason
    narrators = {who: made.narrator(run, who) for who in ("coach", "client")}  # type: ignore[arg-type]
    texts = {
        who: PlanText(made.plan(case, narrator), narrator, full=True).text()
        for who, narrator in narrators.items()
    }
    coach = " ".join(texts["coach"].split())
    assert "Set aside today:" in coach
    assert "L. Marrow" in coach
    client = texts["client"]
    assert "Set aside" not in client
    assert "Marrow" not in client


def test_a_change_counts_from_its_first_day_to_its_last(ines: Case) -> None:
    asked = change("food.target", 2350, DAY, DAY + dt.timedelta(days=6))
    for days, counts in ((-1, False), (0, True), (6, True), (7, False)):
        planner = planner_on(DAY + dt.timedelta(days=days), "clips")
        run = planner.run(with_changes(ines, asked))
        assert (said(run, TARGET) == 2350) == counts, days
        assert not run.set_aside


def test_the_last_change_of_a_line_counts(made: Planner, ines: Case) -> None:
    run = made.run(with_changes(ines, change("food.target", 2350), change("food.target", 2400)))
    assert said(run, TARGET) == 2400


def test_a_change_that_another_one_moves_out_of_bounds_is_set_aside(
    made: Planner, ines: Case
) -> None:
    """A block of four weeks is looked at after four, so a day after those is put off, which is refused."""
    day = made.run(ines).facts["review.next_date"].value
    late = change("review.date", str(day))
    assert made.run(with_changes(ines, late)).by_hand
    run = made.run(with_changes(ines, late, change("training.block", 4)))
    assert run.by_hand.keys() == {"block.weeks"}
    ((aside, reason),) = run.set_aside
    assert aside == late
    assert "not more than" in reason


def test_it_is_said_beside_its_line_everywhere(made: Planner, ines: Case) -> None:
    case = with_changes(ines, change("food.target", 2350), change("training.dose[lats]", 14))
    run = made.run(case)
    english = read_language(made.kb, "en")
    for audience in ("coach", "client"):
        narrator = made.narrator(run, audience)  # type: ignore[arg-type]
        plan = made.plan(case, narrator)
        text = " ".join(PlanText(plan, narrator, full=True).text().split())
        page = page_html(plan, narrator, english, english)
        facts = plan_document(plan, narrator)["facts"]
        assert facts[TARGET]["method"] == "by_hand"
        assert facts[TARGET]["by_hand"]["rules_say"] == pytest.approx(
            run.facts[TARGET].ruled, abs=1
        )
        why = "\n".join(outline(picture(made.compiled, narrator, TARGET, 1), whole=True))
        if audience == "coach":
            for where in (text, page, " ".join(why.split())):
                assert "Set by hand to 2350 by L. Marrow" in where
                assert "hungry in the evening" in where
            assert "Set by hand to 14 by L. Marrow" in text
            assert facts[TARGET]["by_hand"]["by"] == "L. Marrow"
        else:
            for where in (text, page, " ".join(why.split())):
                assert "Your coach set this for you" in where
                assert "Marrow" not in where
                assert "hungry" not in where
            assert facts[TARGET]["by_hand"].keys() == {"rules_say"}
        assert "Marrow" not in json.dumps(facts) or audience == "coach"


def test_under_a_stop_nothing_is_said_of_changes(made: Planner, ines: Case) -> None:
    case = with_changes(
        ines, change("food.target", 2350), screen__symptom_now=("chest_discomfort",)
    )
    run = made.run(case)
    assert said(run, "screen.level") == "stop"
    for audience in ("coach", "client"):
        narrator = made.narrator(run, audience)  # type: ignore[arg-type]
        text = PlanText(made.plan(case, narrator), narrator, full=True).text()
        assert "by hand" not in text
        assert "Marrow" not in text
        assert "kcal" not in text


FILE = """name: Invented Person
as_of: "2026-01-12"
answers: {}
overrides:
  - %s
"""


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("{line: food.protien, to: 1, by: a, reason: likes it, since: '2026-01-12'}", "did you mean `food.protein`"),
        ("{line: screen.level, to: none, by: a, reason: likes it, since: '2026-01-12'}", "not-changeable"),
        ("{line: food.protein, to: [1], by: a, reason: likes it, since: '2026-01-12'}", "a number, a choice or a day"),
        ("{line: food.protein, to: yes, by: a, reason: likes it, since: '2026-01-12'}", "`yes`|bad-type|bad-scalar"),
        ("{line: food.protein, to: 120, by: ' ', reason: b, since: '2026-01-12'}", "needs `by` in words"),
        ("{line: food.protein, to: 120, by: a, since: '2026-01-12'}", "`reason` is missing"),
        ("{line: food.protein, to: 120, by: a, reason: likes it, since: soon}", "allowed: a day such as"),
        ("{line: food.protein, to: 120, by: a, reason: likes it, since: '2026-01-12', until: '2026-01-11'}", "allowed: from `since`"),
        ("{line: training.dose, to: 12, by: a, reason: likes it, since: '2026-01-12'}", "unknown-element"),
        ("{line: 'training.dose[nose]', to: 12, by: a, reason: likes it, since: '2026-01-12'}", "unknown-element"),
        ("{line: 'food.protein[lats]', to: 12, by: a, reason: likes it, since: '2026-01-12'}", "unknown-element"),
        ("{line: food.protein, to: 120, by: a, reason: likes it, since: '2026-01-12', why: c}", "`why` is no part of it"),
        ("food.protein", "a change by hand is a mapping"),
    ],
)  # fmt: skip
def test_bad_changes_in_a_case_file_are_one_clear_line(
    kb: KnowledgeBase, tmp_path: Path, written: str, told: str
) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(FILE % written, "utf-8")
    with pytest.raises(InputProblems) as refused:
        read_case(path, kb)
    lines = [str(problem) for problem in refused.value.problems]
    assert any(part in line for line in lines for part in told.split("|")), lines


def test_a_change_in_a_case_file_is_read_as_written(kb: KnowledgeBase, tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(
        FILE % "{line: food.protein, to: 120, by: a, reason: likes it, since: '2026-01-12'}",
        "utf-8",
    )
    (read,) = read_case(path, kb).overrides
    assert read == Override("food.protein", 120.0, "a", "likes it", DAY)
    assert read.as_written() == {
        "line": "food.protein", "to": 120.0, "by": "a", "reason": "likes it", "since": "2026-01-12"
    }  # fmt: skip
