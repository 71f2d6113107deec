"""What-if says every change of the two plans, and only true reasons for it.

The outside check of "every" is the plan's own text, printed for both cases and compared line by line.
"""

import dataclasses
import datetime as dt
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.clients.compare import compare
from assistant.clients.person import Person
from assistant.explain.what_if import Difference
from assistant.model.case import Case
from assistant.model.derivation import Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value
from assistant.plan import Planner, prepare

ROOT = Path(__file__).parents[2]
FOUR_DAYS = str(ROOT / "cases/four_days.yaml")
People = Callable[[int, int], list[Case]]


def _differs(planner: Planner, case: Case, changes: Mapping[str, Value]) -> tuple[Difference, Case]:
    other = dataclasses.replace(case, answers={**case.answers, **changes})
    found, _ = compare(Person(case, planner), Person(other, planner), "coach")
    return found, other


def _texts(planner: Planner, case: Case) -> dict[str, str]:
    narrator = planner.narrator(planner.run(case), "coach")
    plan = planner.plan(case, narrator)
    return {line.id: line.text for section in plan.sections for line in section.lines}


CHANGES: tuple[Mapping[str, Value], ...] = (
    {"client.sleep_hours": 5.0},
    {"client.available_days": ("mon", "thu")},
    {"client.goal": "lose_fat"},
    {"client.minutes_per_session": 35.0, "client.stress_1_to_5": 5.0},
    {"client.training_age_months": 2.0},
)


@pytest.mark.parametrize("changes", CHANGES, ids=",".join)
def test_every_changed_line_is_told_and_no_other(
    planner: Planner, cases: dict[str, Case], changes: Mapping[str, Value]
) -> None:
    case = cases["four_days"]
    found, other = _differs(planner, case, changes)
    before, after = _texts(planner, case), _texts(planner, other)
    told = {line.id: (line.before, line.after) for s in found.sections for line in s.lines}
    expected = {
        key: (before.get(key), after.get(key))
        for key in {*before, *after}
        if before.get(key) != after.get(key)
    }
    assert told == expected
    assert told
    assert found.unchanged == len({*before, *after}) - len(told)


@pytest.mark.parametrize("changes", CHANGES, ids=",".join)
def test_rules_said_to_begin_or_cease_do(
    planner: Planner, cases: dict[str, Case], changes: Mapping[str, Value]
) -> None:
    case = cases["four_days"]
    found, other = _differs(planner, case, changes)
    fired = [
        {
            (record.rule_id, next(iter(record.binding.values()), None))
            for record in planner.run(each).records
            if record.verdict is Verdict.FIRED
        }
        for each in (case, other)
    ]
    causes = [cause for s in found.sections for line in s.lines for cause in line.causes]
    assert causes
    for cause in causes:
        rule_id, _, element = cause.rule.removesuffix("]").partition("[")
        rule = (rule_id, element or None)
        if cause.kind == "began":
            assert rule in fired[1]
        elif cause.kind == "ceased":
            # It may still fire where another conclusion now counts; then the words say that.
            assert rule in fired[0]
            assert (rule in fired[1]) == ("still applies" in cause.text)
        else:
            assert rule in fired[0] & fired[1]
        assert cause.roots
        assert set(cause.roots) <= {planner.kb.facts[key].label for key in changes}


def test_two_changes_are_told_apart(planner: Planner, cases: dict[str, Case]) -> None:
    changes: dict[str, Value] = {"client.diet": "vegan", "client.stress_1_to_5": 5.0}
    found, _ = _differs(planner, cases["four_days"], changes)
    roots = {
        line.id.partition("[")[0]: {root for cause in line.causes for root in cause.roots}
        for section in found.sections
        for line in section.lines
    }
    assert roots["food.protein"] == {"way of eating"}
    assert roots["advice.stress"] == {"stress, from 1 calm to 5 very high"}


def test_nothing_put_in_changes_nothing(planner: Planner, cases: dict[str, Case]) -> None:
    found, _ = _differs(planner, cases["four_days"], {})
    assert (found.put_in, found.sections, found.elsewhere, found.lost, found.won) == ((),) * 5


def test_the_top_of_a_range(capsys: pytest.CaptureFixture[str]) -> None:
    """1 g a pound of 63 kg is 63 / 0.45359237 = 138.9 g, by the definition of the pound."""
    assert main(["what-if", FOUR_DAYS, "protein.aim_per_lb=top"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "aim of protein by the pound (protein.aim_per_lb): 0.8 -> 1" in said
    assert "now: Protein: 139 g a day" in said
    assert "still by rule PRO-POUND-GOAL" in said
    assert "comes from: aim of protein by the pound" in said


@pytest.mark.parametrize(
    ("number", "is_shared"),
    [
        ("protein.aim_per_lb", True),
        ("energy.surplus_percent", True),
        ("frequency.priority_extra", True),
        ("week.busy_minutes", False),
    ],
)
def test_a_changed_number_does_what_a_book_with_that_number_does(
    planner: Planner, cases: dict[str, Case], number: str, is_shared: bool
) -> None:
    """Against the book compiled from nothing with the number set."""
    top = planner.kb.parameters[number].range[1]
    quick = planner.with_numbers({number: top})
    assert (quick.compiled.program is planner.compiled.program) == is_shared
    whole = prepare(dataclasses.replace(planner.kb, overlay={number: top}), planner.on, "clips")
    for name in ("four_days", "short_nights", "slow_cut"):
        one, other = quick.run(cases[name]), whole.run(cases[name])
        assert one.facts == other.facts
        assert one.records == other.records


@pytest.mark.parametrize(
    ("days", "is_shared"), [(-5, True), (40, True), (400, True), (-6, False), (41, False)]
)
def test_another_day_does_what_a_book_compiled_on_it_does(
    kb: KnowledgeBase, cases: dict[str, Case], days: int, is_shared: bool
) -> None:
    """A rule in force from the 5th day before to the 40th after; beside it no day of the book matters."""
    case = cases["four_days"]
    if days != 400:
        dates = {
            "in_force_from": case.as_of - dt.timedelta(days=5),
            "in_force_until": case.as_of + dt.timedelta(days=40),
        }
        rule = kb.rules["SLP-010"].model_copy(update=dates)
        kb = dataclasses.replace(kb, rules={**kb.rules, rule.id: rule})
    first = prepare(kb, case.as_of, "clips")
    then = case.as_of + dt.timedelta(days=days)
    other, whole = first.on_another_day(then), prepare(kb, then, "clips")
    assert (other.compiled.program is first.compiled.program) == is_shared
    later = dataclasses.replace(case, as_of=then)
    one, anew = other.run(later), whole.run(later)
    assert one.facts == anew.facts
    assert one.records == anew.records


def test_another_day(capsys: pytest.CaptureFixture[str]) -> None:
    """Seven days nearer to the same date is one week less."""
    assert main(["what-if", FOUR_DAYS, "--then-as-of", "2026-01-19"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "day of the plan: 2026-01-12 -> 2026-01-19" in said
    assert "was: Weeks to the date: 29. now: Weeks to the date: 28." in said


def test_another_rule_book_and_other_settings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    book = tmp_path / "rules"
    shutil.copytree(ROOT / "rules", book)
    rule = book / "recover/SLP-010-sleep-to-aim-for.yaml"
    rule.write_text(rule.read_text("utf-8").replace("as the aim", "is the aim"), "utf-8")
    house = tmp_path / "house.yaml"
    house.write_text("parameters: {protein.aim_per_lb: 0.9}\n", "utf-8")
    arguments = ["--then-rules", str(book), "--then-house", str(house)]
    assert main(["what-if", FOUR_DAYS, *arguments]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "rule book: 0.1.0, logic" in said
    assert "aim of protein by the pound (protein.aim_per_lb): 0.8 -> 0.9" in said
    assert "now: Protein: 125 g a day" in said  # 0.9 * 63 / 0.45359237 = 125.00


def test_a_stop_is_told_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["what-if", FOUR_DAYS, "symptom_now=chest_pain"]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "One of the two is stopped by the screen: no plan is shown." in said
    assert "kcal" not in said
    assert "hard sets" not in said
    assert main(["what-if", str(ROOT / "cases/stop_today.yaml"), "symptom_now=none"]) in {0, 1}
    assert "hard sets" not in capsys.readouterr().out


def test_figures_withheld_before_stay_off_the_page(
    planner: Planner, cases: dict[str, Case]
) -> None:
    """Lifting every flag in a thought must not print what the real answers withhold."""
    case = cases["refer_first"]
    clear = {k: v for k, v in cases["four_days"].answers.items() if k.startswith("screen.")}
    other = dataclasses.replace(case, answers={**case.answers, **clear})
    for audience in ("coach", "client"):
        found, _ = compare(Person(case, planner), Person(other, planner), audience)  # type: ignore[arg-type]
        lines = [line for section in found.sections for line in section.lines]
        assert lines
        # Energy and protein in the form in which a plan gives them.
        shown = " ".join(f"{line.before} {line.after} {line.causes}" for line in lines)
        assert "Energy: about" not in shown
        assert "g a day (range" not in shown
        assert not any(line.id.startswith(("food.target", "food.protein")) for line in lines)
    found, _ = compare(Person(case, planner), Person(other, planner), "coach")
    assert "energy to aim for" in found.won


def test_it_agrees_with_itself_backwards(planner: Planner, people: People) -> None:
    """Changing there and back tells the same lines, before and after exchanged."""
    for person in people(31, 2):
        other = dataclasses.replace(person, answers={**person.answers, "client.sleep_hours": 5.0})
        there, _ = compare(Person(person, planner), Person(other, planner), "coach")
        back, _ = compare(Person(other, planner), Person(person, planner), "coach")
        assert {(x.id, x.before, x.after) for s in there.sections for x in s.lines} == {
            (x.id, x.after, x.before) for s in back.sections for x in s.lines
        }
        assert (there.lost, there.won) == (back.won, back.lost)


def test_a_rule_book_that_is_not_there_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["what-if", FOUR_DAYS, "--then-rules", str(tmp_path / "nowhere")]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
