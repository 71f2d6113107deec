"""What the review decides on whole records, through the shipped rules.

The order of decisions and the lines are the rule book's own (judgement or common practice, named
in each rule); what is held here are the laws around them.
"""

import dataclasses
import datetime as dt
import json
import random
import re
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from records import day, even
from shipped import planner_on

from assistant.engine import EngineChoice, durable
from assistant.measure import Findings
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.facts import FactDeclaration
from assistant.model.history import Agreement, DayNote, History, Pain
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value
from assistant.plan import Planner
from assistant.plan.record import findings_of
from assistant.plan.visibility import withheld_outputs
from assistant.report.plan_json import plan_json
from assistant.report.review_text import review_text

ENGINE: EngineChoice = "both" if durable.importable() else "clips"
PlannerOf = Callable[[dt.date], Planner]


@pytest.fixture(scope="module")
def run_of(kb: KnowledgeBase, case: Case, planner_of: PlannerOf) -> Callable[..., Run]:
    def run(history: History, last: int, **answers: Any) -> Run:
        changed = {name.replace("__", "."): value for name, value in answers.items()}
        own = dataclasses.replace(case, answers={**case.answers, **changed})
        found = findings_of(kb, own, history, day(last))
        return planner_of(day(last)).run(own, found)

    return run


def _said(run: Run, name: str) -> Any:
    fact = run.facts.get(name)
    return None if fact is None or isinstance(fact.value, Status) else fact.value


ROTATED = (Agreement(day(14), block_starts=True),)


# Weight 63.5 kg in the case; 0.19 kg a week is 0.3 %, over the band past the novice (0.1 to 0.25).
@pytest.mark.parametrize(
    ("name", "history", "decision"),
    [
        ("too early", even(42, first=14, kg_per_week=0.35), "hold"),
        ("in the band", even(42, kg_per_week=0.11, agreements=ROTATED), "hold"),
        ("too fast", even(42, kg_per_week=0.35), "adjust_energy"),
        ("too slow", even(42, kg_per_week=-0.1), "adjust_energy"),
        ("far too fast goes to the screen", even(42, kg_per_week=0.6), "refer"),
        ("fast loss goes to the screen", even(42, kg_per_week=-0.8), "refer"),
        ("short nights first", even(42, kg_per_week=-0.1, sleep=5.5), "fix_first"),
        ("sessions first", even(42, kg_per_week=-0.1, attends=False), "fix_first"),
        ("other food than agreed first", even(42, kg_per_week=-0.1, target=2500.0), "fix_first"),
        ("a short log is repaired", even(42, kcal=1500.0, target=1500.0), "repair_log"),
        ("the block has run", even(42, kg_per_week=0.11), "rotate_block"),
    ],
)
def test_decisions(run_of: Callable[..., Run], name: str, history: History, decision: str) -> None:
    assert _said(run_of(history, 41), "review.decision") == decision, name


def test_food_changes_by_one_small_step_and_then_waits(run_of: Callable[..., Run]) -> None:
    slow = even(42, kg_per_week=-0.1)
    run = run_of(slow, 41)
    change, now = (
        _said(run, "review.energy_change_kcal_per_day"),
        _said(run, "energy.target_kcal_per_day"),
    )
    assert 0 < change <= 200
    assert _said(run, "review.next_target_kcal_per_day") == now + change
    lately = dataclasses.replace(
        slow,
        agreements=(*slow.agreements, Agreement(day(21), energy_target_kcal_per_day=2200.0)),
    )
    assert _said(run_of(lately, 41), "review.energy_change_kcal_per_day") is None


def test_a_short_log_is_never_answered_by_a_cut(run_of: Callable[..., Run]) -> None:
    """Capling 2017: logs read low. Steady weight on 1,100 kcal is a matter of the log."""
    for goal in ("lose_fat", "maintain", "gain_muscle"):
        phase = {"lose_fat": "cut", "maintain": "hold", "gain_muscle": "build"}[goal]
        for rate in (0.0, 0.1, 0.3):
            history = even(42, kcal=1100.0, target=1100.0, kg_per_week=rate, phase=phase)
            run = run_of(history, 41, client__goal=goal, client__weight_kg=78.0)
            assert _said(run, "review.decision") in {"repair_log", "refer"}, (goal, rate)
            assert _said(run, "review.energy_change_kcal_per_day") is None
            assert _said(run, "energy.measured_kcal_per_day") is None


def test_a_cut_never_goes_under_the_floor(run_of: Callable[..., Run]) -> None:
    """Whatever the record says, the next target is at or above the floor of the same run."""
    tried = 0
    for kcal in (1500.0, 1600.0, 1700.0, 1900.0, 2100.0):
        history = even(42, kcal=kcal, target=kcal, phase="cut", weight=78.0)
        run = run_of(
            history,
            41,
            client__goal="lose_fat",
            client__weight_kg=78.0,
            client__body_fat_percent=37.0,
        )
        following = _said(run, "review.next_target_kcal_per_day")
        if following is not None:
            tried += 1
            assert following >= _said(run, "energy.floor_kcal_per_day")
    assert tried >= 2


def test_lifts_decide_on_volume_and_not_before_they_can(run_of: Callable[..., Run]) -> None:
    stalled = even(70, kg_per_week=0.11, percent_per_week=0.0)
    young = even(70, first=50, kg_per_week=0.11, percent_per_week=0.0)
    assert _said(run_of(young, 69), "review.lifts") == "too_early"
    run = run_of(stalled, 69)
    assert _said(run, "review.lifts") == "stalled"
    assert _said(run, "review.decision") == "adjust_volume"
    assert _said(run, "review.volume_direction") == "more"
    rising = run_of(even(70, kg_per_week=0.11, percent_per_week=0.8), 69)
    assert _said(rising, "review.lifts") == "rising"
    assert _said(rising, "review.decision") == "rotate_block"  # its time has run, nothing else


def test_two_signs_make_a_lighter_week_and_pain_goes_to_a_physiotherapist(
    run_of: Callable[..., Run],
) -> None:
    history = even(42, kg_per_week=0.11, sleep=5.5)
    sore = tuple(DayNote(day(n), sleep_hours=5.5, soreness_1_to_5=5) for n in range(42))
    tired = dataclasses.replace(history, notes=sore)
    assert _said(run_of(tired, 41), "review.decision") == "lighter_week"
    had = dataclasses.replace(
        tired, agreements=(*tired.agreements, Agreement(day(32), easier_week=True))
    )
    assert _said(run_of(had, 41), "review.decision") == "fix_first"
    hurt = dataclasses.replace(tired, pains=(Pain(day(38), "knee", 8),))
    assert _said(run_of(hurt, 41), "review.decision") == "refer"


def test_one_decision_and_the_rest_is_named(run_of: Callable[..., Run]) -> None:
    run = run_of(even(42, kg_per_week=0.35), 41)
    assert _said(run, "review.decision") == "adjust_energy"
    assert set(_said(run, "review.candidates")) == {"adjust_energy", "rotate_block"}


def test_what_is_not_chosen_waits_and_is_not_decided(run_of: Callable[..., Run]) -> None:
    """Three things are called for; one is decided, and only that one is put into words as decided."""
    history = even(70, kg_per_week=0.35, percent_per_week=0.0, agreements=())
    run = run_of(history, 69)
    called = set(_said(run, "review.candidates"))
    assert called == {"adjust_energy", "adjust_volume", "rotate_block"}
    assert _said(run, "review.decision") == "adjust_energy"
    assert set(_said(run, "review.waiting")) == called - {"adjust_energy"}
    assert _said(run, "review.volume_wish") == "more"
    assert _said(run, "review.volume_direction") is None
    assert _said(run, "review.next_phase") is None


CAUSES: Mapping[str, tuple[Mapping[str, Any], tuple[Agreement, ...], str, str]] = {
    "nothing explains it": ({}, (), "none_found", "lighter_week"),
    "short nights": ({"sleep": 5.5}, (), "basics", "lighter_week"),  # two signs meet
    "missed sessions": ({"attends": False}, (), "basics", "fix_first"),
    "weight under its pace": ({"kg_per_week": -0.1}, (), "food", "adjust_energy"),
    "a lighter week did not mend it": (
        {}, (Agreement(day(42), easier_week=True),), "none_found", "adjust_volume"),
    "a lighter week just now": (
        {}, (Agreement(day(60), easier_week=True),), "none_found", "look_into_fall"),
}  # fmt: skip


# Lifts that fall by 1 % a week for ten weeks, as a sheet prints sets (10 to 12 with 2 in reserve) and at 8.
@pytest.mark.parametrize("repetitions", [8, 10, 12])
@pytest.mark.parametrize("name", CAUSES)
def test_falling_lifts_change_something_for_a_reason(
    run_of: Callable[..., Run], name: str, repetitions: int
) -> None:
    changed, agreements, cause, decision = CAUSES[name]
    rotated = Agreement(day(56), block_starts=True)
    given: dict[str, Any] = {"kg_per_week": 0.11, "percent_per_week": -1.0, **changed}
    history = even(70, repetitions=repetitions, agreements=(*agreements, rotated), **given)
    run = run_of(history, 69)
    assert _said(run, "review.lifts") == "falling"
    assert _said(run, "review.fall_cause") == cause
    assert _said(run, "review.decision") == decision


def test_falling_and_as_planned_never_stand_together(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    """On whole records with everything that may be the reason or stand in its way, in both voices."""
    kinds: set[str] = set()
    made = planner_of(day(69))
    for sleep in (5.5, 7.5):
        for agreed in ((), (Agreement(day(60), easier_week=True, sets_changed=True),)):
            for goal, phase in (
                ("gain_muscle", "build"),
                ("lose_fat", "cut"),
                ("maintain", "hold"),
            ):
                own = dataclasses.replace(case, answers={**case.answers, "client.goal": goal})
                history = even(70, phase=phase, sleep=sleep, percent_per_week=-1.0,
                               repetitions=12, agreements=agreed)  # fmt: skip
                found = findings_of(kb, own, history, day(69))
                assert found is not None
                run = made.run(own, found)
                kinds.add(_said(run, "review.decision"))
                for audience in ("coach", "client"):
                    narrator = made.narrator(run, audience)
                    text = review_text(made.plan(own, narrator), narrator, found)
                    assert "falling" in text
                    assert "as planned" not in text
    assert len(kinds) >= 3
    assert "hold" not in kinds


def test_pain_told_once_is_told_as_once(run_of: Callable[..., Run]) -> None:
    history = dataclasses.replace(even(42), pains=(Pain(day(38), "knee", 8),))
    run = run_of(history, 41)
    assert _said(run, "record.pain_weeks") == 1
    assert _said(run, "review.ask_pain") is True
    assert not _said(run, "review.ask_pain_lasting")


FLAGGED: Mapping[str, Mapping[str, Any]] = {
    "two eating items": {"screen__mind_taken_up": True, "screen__rules_spoil_mood": True},
    "an eating disorder in care": {"screen__eating_disorder": "current_in_care"},
    "pregnant": {"screen__pregnant": True},
    "a minor": {"client__age_years": 16.0},
    "no period": {"screen__months_without_period": 4.0},
    "a stop": {"screen__symptom_now": ("chest_pain",)},
}


@pytest.mark.parametrize("name", FLAGGED)
@pytest.mark.parametrize("rate", [-0.3, 0.35])
def test_under_withhold_and_stop_nothing_about_energy_is_decided(
    run_of: Callable[..., Run], name: str, rate: float
) -> None:
    history = even(42, kg_per_week=rate)
    for goal in ("gain_muscle", "lose_fat"):
        run = run_of(history, 41, client__goal=goal, **FLAGGED[name])
        assert _said(run, "screen.level") in {"withhold", "stop"}
        withheld = set(_said(run, "screen.withheld"))
        if "energy_number" in withheld:
            assert not any(
                key.startswith(("energy.", "review.energy", "review.next_target"))
                and fact.derivations
                for key, fact in run.facts.items()
            )
        change = _said(run, "review.energy_change_kcal_per_day")
        assert change is None or (change > 0 and "energy_surplus" not in withheld)
        if _said(run, "screen.level") == "stop":
            assert _said(run, "review.decision") == "refer"


def test_withheld_figures_of_the_record_reach_no_client(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    """The figures looked for are those the record itself would show."""
    history = even(42, kg_per_week=0.36, kcal=2173.0, target=2173.0)
    made = planner_of(day(41))
    for name, changed in FLAGGED.items():
        answers = {key.replace("__", "."): value for key, value in changed.items()}
        own = dataclasses.replace(case, answers={**case.answers, **answers})
        found = findings_of(kb, own, history, day(41))
        assert found is not None
        narrator = made.narrator(made.run(own, found), "client")
        plan = made.plan(own, narrator)
        text = review_text(plan, narrator, found) + plan_json(plan, narrator)
        assert found.weight is not None
        rate = found.weight.rate_percent_per_week
        ends = {f"{end:.2f}" for end in (rate.value, rate.low, rate.high)}
        withheld = withheld_outputs(narrator.run)
        secret = {"2173", "2170"} if "energy_number" in withheld else set()
        if "body_measures" in withheld:
            secret |= {"0.36", f"{found.weight.mean_kg:.1f}", *ends}
        assert secret or name == "no period", name
        for figure in secret:
            inside = re.search(rf"(?<![\d.]){re.escape(figure)}(?!\d)", text)
            assert not inside, (name, figure)


def test_without_a_record_a_plan_is_as_before(case: Case, planner_of: PlannerOf) -> None:
    run = planner_of(case.as_of).run(case)
    concluded = [key for key, fact in run.facts.items() if fact.derivations]
    assert not [
        key for key in concluded if key.startswith(("review.dec", "review.cand", "review.too"))
    ]
    assert all(
        fact.value is Status.UNKNOWN for key, fact in run.facts.items() if key.startswith("record.")
    )
    narrator = planner_of(case.as_of).narrator(run, "coach")
    plan = planner_of(case.as_of).plan(case, narrator)
    assert not {"review_decision", "review_evidence"} & {section.id for section in plan.sections}
    assert not [name for name in plan.unknown if name.startswith("record.")]


def test_both_engines_agree_on_any_record(kb: KnowledgeBase, case: Case) -> None:
    """`both` stops on any difference; every run checks itself against the verdict pass."""
    made = planner_on(day(41), ENGINE)
    draw = random.Random(5)
    numbers = {
        "percent": (-120.0, 120.0), "week": (0.0, 20.0), "kcal": (900.0, 3500.0), "hours": (3.0, 9.0),
        "cm": (-6.0, 6.0), "pain": (0.0, 10.0),
        "last_weight": (45.0, 90.0), "each_week": (-1.0, 1.2), "sudden": (0.0, 2.5),
    }  # fmt: skip

    calm = {"sleep": (6.5, 9.0), "done": (80.0, 100.0), "pain": (0.0, 3.0), "down": (0.0, 1.0)}

    def value(name: str) -> float:
        spans = {**numbers, **calm} if draw.random() < 0.8 else numbers
        part = max((p for p in spans if p in name), key=lambda p: p in calm, default="")
        low, high = spans.get(part, (2.0, 4.5))
        if "rate_percent" in name or "change_percent" in name:
            low, high = -1.0, 0.7
        return round(draw.uniform(low, high), 1)

    def drawn(fact: FactDeclaration) -> Value:
        if fact.type == "choices":
            # Signs felt and people still to be seen: mostly none, else nothing else is decided.
            choices = fact.choices or kb.book.domains[str(fact.choice_domain)]
            return (draw.choice(choices),) if draw.random() < 0.1 else ()
        if fact.type == "choice":
            return draw.choice(fact.choices)
        if fact.type == "date":
            return day(60).isoformat()
        return draw.random() < 0.1 if fact.type == "boolean" else value(fact.id)

    decisions = set()
    for _ in range(40):
        values: dict[str, Value] = {
            (
                fact.id if fact.index is None else f"{fact.id}[{kb.book.domains[fact.index][0]}]"
            ): drawn(fact)
            for fact in kb.facts.values()
            if fact.origin == "record" and draw.random() >= 0.2
        }
        ranges = {
            key: (number - 0.4, number + 0.4)
            for key, number in values.items()
            if isinstance(number, float) and kb.facts[key.partition("[")[0]].has_range
        }
        found = _Given(values, ranges)
        own = dataclasses.replace(
            case,
            answers={
                **case.answers,
                "client.goal": draw.choice(("gain_muscle", "lose_fat", "maintain")),
            },
        )
        run = made.run(own, found)  # type: ignore[arg-type]
        decisions.add(_said(run, "review.decision"))
    assert len(decisions) >= 5


@dataclasses.dataclass(frozen=True)
class _Given:
    """Findings of no record: facts and ranges as drawn."""

    values: Mapping[str, Value]
    ranges: Mapping[str, tuple[float, float]]


def test_the_same_record_gives_the_same_bytes(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    texts = set()
    for _ in range(2):
        found = findings_of(kb, case, even(42, kg_per_week=0.35, percent_per_week=0.3), day(41))
        assert isinstance(found, Findings)
        made = planner_of(day(41))
        narrator = made.narrator(made.run(case, found), "coach")
        plan = made.plan(case, narrator)
        texts.add(json.dumps(plan_json(plan, narrator)) + review_text(plan, narrator, found))
    assert len(texts) == 1
