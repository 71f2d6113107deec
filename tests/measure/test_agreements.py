"""What a review agreed is what every later plan shows, until a review changes it.

That an agreement stands until it is looked at again is common practice, no source.
"""

import dataclasses
import datetime as dt
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from records import day, even

from assistant.cli.main import main
from assistant.measure import agreement_of
from assistant.measure.agreed import agreed_on
from assistant.model.case import Case
from assistant.model.history import Agreement, Girth, History
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner
from assistant.plan.agreeing import accepting
from assistant.plan.record import findings_of
from assistant.report.accepting_text import accepting_text

ROOT = Path(__file__).parents[2]
# Seven weeks from 2026-01-12 end on this day.
LAST = "2026-03-01"
FOOD = (
    "energy.target_kcal_per_day",
    "carbohydrate.g_per_day",
    "protein.g_per_day",
    "fat.g_per_day",
)


class Desk:
    """One client in a record of their own, and the commands a coach types."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        self.where = ["--db", str(folder / "r.db")]
        case = (ROOT / "cases/four_days.yaml").read_text("utf-8").partition("\nexpect:")[0]
        assert "client.goal_weight_kg: 63" in case
        path = folder / "ines.yaml"
        path.write_text(case.replace("client.goal_weight_kg: 63", "client.goal_weight_kg: 72"))
        self.type("client", "add", "Ines Farrow", "--case", str(path), "--as-of", "2026-01-12")

    def type(self, *words: str) -> str:
        self.capsys.readouterr()
        main([*words, *self.where])
        return self.capsys.readouterr().out

    def tell(self, history: History, on: str) -> None:
        rows = self.folder / "rows.csv"
        eaten = {one.day: one.energy_kcal for one in history.eating}
        text = "day,weight_kg,energy_kcal\n" + "".join(
            f"{one.day},{one.weight_kg:.2f},{eaten[one.day]:.0f}\n" for one in history.weighings
        )
        rows.write_text(text, "utf-8")
        self.type("checkin", "Ines Farrow", "--from", str(rows), "--sure", "--as-of", on)

    def plan(self, on: str, *more: str) -> str:
        return self.type("plan", "Ines Farrow", "--no-week", "--as-of", on, *more)

    def facts(self, on: str) -> dict[str, Any]:
        facts = json.loads(self.plan(on, "--format", "json"))["facts"]
        return {name: fact["value"] for name, fact in facts.items()}

    def review(self, on: str, *more: str) -> str:
        return self.type("review", "Ines Farrow", "--as-of", on, *more)


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    return Desk(tmp_path, capsys)


def test_a_fast_gain_is_held_at_what_was_agreed(desk: Desk) -> None:
    """0.8 % a week. The change is larger than 250 kcal, so the weeks that measure begin anew."""
    desk.tell(even(49, weight=63.5, kg_per_week=0.5, kcal=2500.0), LAST)
    desk.review(LAST, "--accept")
    agreed = desk.facts(LAST)
    target = agreed["energy.target_kcal_per_day"]
    assert agreed["phase.now"] == "hold"
    assert target < 2250
    for later in ("2026-03-02", "2026-03-10", "2026-03-25"):
        facts = desk.facts(later)
        assert facts["phase.now"] == "hold"
        assert [facts[name] for name in FOOD[:1]] == [target], later
        assert f"Food agreed: {round(target, -1):.0f} kcal a day." in desk.review(later)
        for audience in ("coach", "client"):
            text = desk.plan(later, "--for", audience)
            assert f"{round(target, -1):.0f} kcal" in text, (later, audience)


def test_one_step_of_food_is_the_plan_of_the_next_day_and_of_the_weeks_after(desk: Desk) -> None:
    desk.tell(even(49, weight=63.5, kg_per_week=0.36, kcal=2500.0), LAST)
    told = desk.review(LAST, "--accept")
    assert "Decision: change food by one step." in told
    wanted = told.partition("Energy to aim for next: ")[2].partition(" kcal")[0]
    for later in ("2026-03-02", "2026-03-20", "2026-04-30"):
        facts = desk.facts(later)
        assert f"{round(facts['energy.target_kcal_per_day'], -1):.0f}" == wanted, later
        assert f"Food agreed: {wanted} kcal a day." in desk.review(later)


# The same without commands, for phases


PlannerOf = Callable[[dt.date], Planner]


def _own(case: Case) -> Case:
    return dataclasses.replace(case, answers={**case.answers, "client.goal_weight_kg": 72.0})


def test_an_agreed_hold_ends_the_build_until_a_review_moves_on(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    """The waist ends a build (4 cm); three weeks of holding later the goal is asked for again."""
    own = _own(case)
    waist = (Girth(day(1), "waist", 70.0), Girth(day(40), "waist", 75.0))
    history = dataclasses.replace(
        even(42, weight=63.5, kg_per_week=0.11, kcal=2250.0, target=2250.0), girths=waist
    )

    def reviewed(on: int, known: History) -> Any:
        planner = planner_of(day(on))
        run = planner.run(own, findings_of(kb, own, known, day(on)))
        return accepting(planner, own, known, run)

    def said(run: Any, name: str) -> Any:
        return run.facts[name].value

    first = reviewed(41, history)
    # Other things may come first in line; here the block has run its time.
    fresh = Agreement(day(40), block_starts=True)
    history = dataclasses.replace(history, agreements=(*history.agreements, fresh))
    first = reviewed(41, history)
    assert said(first.before, "review.decision") == "move_phase"
    assert said(first.before, "phase.now") == "build"
    assert said(first.after, "phase.now") == "hold"
    assert said(first.after, "energy.surplus_kcal_per_day") == 0
    held = said(first.after, "energy.target_kcal_per_day")
    assert held == pytest.approx(said(first.before, "energy.maintenance_kcal_per_day"))

    agreed = agreement_of(first.digest["facts"], day(41), is_first=False)
    then = dataclasses.replace(history, agreements=(*history.agreements, agreed))
    for on in (42, 50, 60):
        later = reviewed(on, then)
        assert said(later.before, "phase.now") == "hold"
        # With the gate shut it never falls under maintenance, which is measured on meanwhile.
        assert said(later.before, "energy.target_kcal_per_day") == pytest.approx(held, abs=5)
        assert said(later.before, "review.decision") != "move_phase", on
    later = reviewed(61, then)
    assert said(later.before, "review.decision") == "move_phase"
    assert said(later.before, "review.next_phase") == "build"
    assert said(later.after, "phase.now") == "build"
    assert said(later.after, "energy.surplus_kcal_per_day") > 0


def test_a_log_kept_in_another_way_ends_the_measured_maintenance() -> None:

    first = Agreement(day(0), 2400.0, "build", maintenance_kcal_per_day=2200.0)
    assert agreed_on([first], day(9), 250).maintenance_kcal_per_day == 2200.0
    again = agreed_on([first, Agreement(day(5), 2100.0)], day(9), 250)
    assert (again.maintenance_kcal_per_day, again.maintenance_since) == (2200.0, day(0))
    mended = agreed_on([first, Agreement(day(5), log_mended=True)], day(9), 250)
    assert (mended.maintenance_kcal_per_day, mended.maintenance_since) == (None, None)


def test_food_agreed_for_one_phase_is_not_that_of_the_next() -> None:

    first = Agreement(day(0), 2400.0, "build")
    assert agreed_on([first, Agreement(day(5), None, "hold")], day(9), 250).phase == "hold"
    moved = agreed_on([first, Agreement(day(5), None, "hold")], day(9), 250)
    assert moved.energy_target_kcal_per_day is None
    stays = agreed_on([first, Agreement(day(5), block_starts=True)], day(9), 250)
    assert stays.energy_target_kcal_per_day == 2400.0


def test_a_hold_of_the_screen_alone_is_not_agreed() -> None:
    """Whoever answers the open questions the next day builds the next day."""
    kept = {"phase.now": "hold", "energy.target_kcal_per_day": 2100.0}
    alone = agreement_of(kept, day(0), is_first=True)
    accepted = agreement_of({**kept, "review.decision": "refer"}, day(1), is_first=False)
    assert not agreed_on([alone], day(9), 250).holds
    assert agreed_on([alone, accepted], day(9), 250).holds
    assert agreed_on(
        [alone, accepted, agreement_of(kept, day(2), is_first=False)], day(9), 250
    ).holds
    built = agreement_of({"phase.now": "build"}, day(3), is_first=False)
    assert not agreed_on([alone, accepted, built], day(9), 250).holds


def test_agreed_steps_of_the_weekly_sets_add_up() -> None:
    def decided(which: str, on: int) -> Agreement:
        facts = {"review.decision": "adjust_volume", "review.volume_direction": which}
        return agreement_of(facts, day(on), is_first=False)

    def steps(*which: str) -> int:
        rows = [decided(each, on) for on, each in enumerate(which)]
        return agreed_on(rows, day(30), 250).sets_steps

    assert [steps("more"), steps("more", "more"), steps("more", "more", "less")] == [1, 2, 0]
    assert [steps("less"), steps("less", "less"), steps("less", "more")] == [-1, -1, 0]


# What accepting would change, said before


ROW = re.compile(r"^- (.+): (.+) -> (.+)$", re.MULTILINE)
NAMED = {
    "energy to aim for": "energy.target_kcal_per_day",
    "carbohydrate": "carbohydrate.g_per_day",
    "fat": "fat.g_per_day",
}


def _promised(text: str, title: str) -> dict[str, tuple[str, str]]:
    block = " ".join(text.partition(title)[2].replace("\n  ", " ").splitlines(keepends=True))
    return {label: (old, new) for label, old, new in ROW.findall(block.replace(" - ", "- "))}


@pytest.mark.parametrize(
    ("audience", "title"), [("coach", "If this is accepted"), ("client", "What this changes")]
)
def test_figures_are_shown_before_they_are_accepted_and_stand_the_next_day(
    desk: Desk, audience: str, title: str
) -> None:
    desk.tell(even(49, weight=63.5, kg_per_week=0.36, kcal=2500.0), LAST)
    text = desk.review(LAST, "--for", audience)
    promised = _promised(text, title)
    assert "of one step" in text or "one small step" in text
    before = desk.facts("2026-02-01")
    desk.review(LAST, "--accept")
    after = desk.facts("2026-03-02")
    assert NAMED.keys() <= promised.keys()
    for label, fact in NAMED.items():
        digits = -1 if "energy" in fact else 0
        old, new = (float(words.split()[0]) for words in promised[label])
        assert new == round(after[fact], digits), label
        if "energy" in fact:
            assert old == round(before[fact], digits)
            assert 0 < abs(old - new) <= 200
    # Accepted once, nothing is left to change.
    again = _promised(desk.review(LAST, "--for", audience), title)
    assert not again.keys() & NAMED.keys()


def test_a_larger_change_than_one_step_says_why(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    own, planner = _own(case), planner_of(day(41))
    rising = even(42, weight=63.5, kg_per_week=0.5, kcal=2500.0, target=2500.0)
    run = planner.run(own, findings_of(kb, own, rising, day(41)))
    done = accepting(planner, own, rising, run)
    coach = " ".join(accepting_text(done, planner.narrator(run, "coach")).split())
    assert "energy to aim for: 2500 kcal a day ->" in coach
    assert "more than the 200 of one step" in coach
    client = accepting_text(done, planner.narrator(run, "client"))
    assert "2500 kcal" in client
    assert "flags" not in client


def test_what_is_withheld_is_not_told_as_a_change(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    own, planner = _own(case), planner_of(day(41))
    upset = {**own.answers, "screen.measuring_feels": "upsetting"}
    hidden = dataclasses.replace(own, answers=upset)
    history = even(42, weight=63.5, kg_per_week=0.36, kcal=2500.0, target=2500.0)
    open_run = planner.run(own, findings_of(kb, own, history, day(41)))
    shown = accepting(planner, own, history, open_run).digest
    run = planner.run(hidden, findings_of(kb, hidden, history, day(41)))
    done = accepting(planner, hidden, history, run)
    for audience in ("coach", "client"):
        narrator = planner.narrator(run, audience)  # type: ignore[arg-type]
        for current in (None, shown):
            text = accepting_text(done, narrator, current)
            assert "kcal" not in text
            assert " kg" not in text


# Warnings stay open


def test_a_warning_is_open_until_data_answers_or_a_decision_close_it(desk: Desk) -> None:
    """Accepting closes nothing; weeks of further weighing at a steady pace do."""
    rising = even(49, weight=63.5, kg_per_week=0.5, kcal=2500.0)
    desk.tell(rising, LAST)
    line = "Pace, open since 2026-03-01; closes with weeks of further weighing at a steady pace"
    for later in (LAST, "2026-03-02", "2026-03-20"):
        told = " ".join(desk.review(later, "--accept").split())
        assert line in told, later
        assert "or a decision with its reason by: coach, head trainer" in told
        assert line in " ".join(desk.plan(later).split()), later
        for text in (desk.review(later, "--for", "client"), desk.plan(later, "--for", "client")):
            assert "open since" not in text
            assert "Open warning" not in text
    last = rising.weighings[-1].weight_kg
    steady = even(49 + 84, first=49, weight=last, kg_per_week=0.0, kcal=2100.0)
    desk.tell(steady, "2026-05-24")
    assert "open since" not in desk.review("2026-05-24")
    assert "Open warning" not in desk.plan("2026-05-24")


def test_a_decision_about_a_warning_is_kept_with_who_and_why(desk: Desk) -> None:
    desk.tell(even(49, weight=63.5, kg_per_week=0.5, kcal=2500.0), LAST)
    decide = ("client", "decide", "Ines Farrow", "--as-of", "2026-03-02")
    who = ("--role", "head_trainer", "--by", "L. Marrow", "--until", "2026-03-20")
    why = ("--reason", "came back from an illness")
    assert "Nothing is decided" in desk.type(*decide, "--list")
    before = desk.facts("2026-03-02")
    assert "energy_surplus" in before["screen.withheld"]
    kept = desk.type(*decide, "--set-aside", "weight_gain_fast", *who, *why)
    assert "Screen: inform." in kept
    assert "energy_surplus" not in desk.facts("2026-03-03")["screen.withheld"]
    assert "weight_gain_fast set aside by L. Marrow" in desk.type(*decide, "--list")
    desk.type(*decide, "--withdraw", "1", "--by", "L. Marrow", "--reason", "too early")
    assert "energy_surplus" in desk.facts("2026-03-03")["screen.withheld"]
    for refused in (
        ("--set-aside", "weight_gain_fast", *who),  # no reason
        ("--set-aside", "weight_gain_fats", *who, *why),
        ("--cleared", "weight_gain_fast", *who, *why),
        ("--set-aside", "weight_gain_fast", *why, *who[:-1], "2027-03-20"),
        ("--withdraw", "3", "--by", "L. Marrow", *why),
    ):
        assert main([*decide, *refused, *desk.where]) == 2
    assert "Nothing is decided" in desk.type(*decide, "--list")
