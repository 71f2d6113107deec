"""What why-not says, on the shipped cases; the figures expected are worked out by hand."""

import dataclasses
import datetime as dt
from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.explain.why_not import Asked
from assistant.explain.why_not_text import why_not_text
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import prepare

ROOT = Path(__file__).parents[2]


def _said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    code = main(list(arguments))
    captured = capsys.readouterr()
    assert code == 0, captured.err
    return " ".join(captured.out.split())


def _case(name: str) -> str:
    return str(ROOT / "cases" / f"{name}.yaml")


def test_one_day_short_is_said_in_days(capsys: pytest.CaptureFixture[str]) -> None:
    """Two free evenings leave two days for a priority; the third session asks for three."""
    said = _said(
        capsys, "why-not", _case("two_short_evenings"), "dose.sessions_per_week[glute_max]"
    )
    assert said.startswith("Sessions a week, glutes: 1 session a week (rule FRQ-015)")
    assert "needed: at least 3 (1 day short)" in said
    said = _said(capsys, "why-not", _case("two_short_evenings"), "STR-FULL_3")
    assert "number of free days is two, needed: three (1 training day short)" in said


def test_what_holds_a_rule_back_is_traced_to_the_flag(capsys: pytest.CaptureFixture[str]) -> None:
    said = _said(capsys, "why-not", _case("refer_first"), "energy.surplus_kcal_per_day")
    assert "Energy above maintenance: left out" in said
    assert "rule FLG-EATING_SCREEN_TWO_PLUS" in said
    assert "rule SCR-EATING-ITEMS-TWO" in said


def test_a_missing_answer_is_named_down_to_the_question(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # Half answered has questions about eating open, which leaves food figures out whatever the weight.
    whole = Path(_case("four_days")).read_text("utf-8").replace("client.weight_kg: 63.5", "")
    unweighed = tmp_path / "case.yaml"
    unweighed.write_text(whole.partition("expect:")[0], "utf-8")
    said = _said(capsys, "why-not", str(unweighed), "energy.maintenance_kcal_per_day")
    assert "an answer is missing: - energy of daily life: not known to ask: body weight" in said


def test_rules_that_gave_way_are_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert "rule PRO-010 takes precedence" in _said(
        capsys, "why-not", _case("four_days"), "protein.base"
    )
    assert "the largest counts, here that of rule PHS-020" in _said(
        capsys, "why-not", _case("four_days"), "phase.now"
    )


def test_a_value_asked_for_narrows_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    said = _said(capsys, "why-not", _case("four_days"), "phase.now=cut")
    assert "PHS-030" in said
    assert "PHS-010" not in said


def test_a_rule_that_does_apply_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    said = _said(capsys, "why-not", _case("four_days"), "FRQ-020[lats]")
    assert "It does apply for sides of the back (lats)" in said
    assert "What did not decide it" not in said


@pytest.mark.parametrize(
    ("asked", "code", "hint"),
    [
        ("phase.nw", "unknown-name", "phase.now"),
        ("FRQ-020[lat]", "unknown-name", "FRQ-020[lats]"),
        ("client.goal", "not-a-conclusion", "what the person answers"),
    ],
)
def test_bad_names_are_one_clear_line(
    capsys: pytest.CaptureFixture[str], asked: str, code: str, hint: str
) -> None:
    assert main(["why-not", _case("four_days"), asked]) == 2
    (line,) = capsys.readouterr().err.strip().splitlines()
    assert f"{code}:" in line
    assert hint in line


def test_the_client_hears_nothing_of_screening_rules(capsys: pytest.CaptureFixture[str]) -> None:
    for asked in ("SCR-EATING-ITEMS-TWO", "screen.flags", "FLG-EATING_SCREEN_TWO_PLUS"):
        said = _said(capsys, "why-not", _case("refer_first"), asked, "--for", "client")
        assert said == "This page leaves that out. The coach's page says what can be said about it."
    said = _said(capsys, "why-not", _case("refer_first"), "phase.now", "--for", "client")
    assert "FLG-" not in said
    assert "SCR-" not in said


def test_rules_outside_their_dates_come_last(kb: KnowledgeBase, cases: dict[str, Case]) -> None:
    later = kb.rules["PHS-030"].model_copy(update={"in_force_from": dt.date(2030, 1, 1)})
    book = dataclasses.replace(kb, rules={**kb.rules, "PHS-030": later})
    case = cases["slow_cut"]
    planner = prepare(book, case.as_of, "clips")
    narrator = planner.narrator(planner.run(case), "coach")
    asked = Asked(keys=("phase.now",))
    text = why_not_text(planner.compiled, narrator, CALCULATORS, asked, 9, "")
    *_, last = text.rstrip().split("\n\n")
    said = " ".join(last.split())
    assert "PHS-030:" in said
    assert said.endswith(
        "not in force: - the rule counts from 2030-01-01; this plan is for 2026-01-12"
    )
