"""No page contradicts itself: generated people in many combinations of flags, every reader's page.

The pairs stand in contradictions.py. By default few people; under `slow` many without a week
and some with one (lengths.py says how many).
"""

import functools
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from contradictions import PAIRS, TRAINS, Page, Person, contradictions
from lengths import at_length
from screening import DAY, case_answers, checked, knowledge
from screening_people import DISTURBED, MANY, RED, possible_values
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.clients.week import week_now
from assistant.model.case import Case
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.plan import Planner
from assistant.plan.language import read_language
from assistant.plan.sentences import Narrator
from assistant.plan.views import flag_records
from assistant.plan.visibility import is_stopped, withheld_outputs
from assistant.report.page.whole import page_html
from assistant.report.plan_text import PlanText, WeekRows
from assistant.report.referral import referral_note
from assistant.report.week_text import sessions_text

# Answers outside the screen that decide what a page holds.
PLAIN: dict[str, tuple[Any, ...]] = {
    "client.goal": ("gain_muscle", "maintain", "lose_fat"),
    "client.training_age_months": (0, 4, 18, 60),
    "client.sessions_per_week_now": (0, 2, 4),
    "client.available_days": (["mon", "thu"], ["mon", "tue", "thu", "sat"]),
    "client.minutes_per_session": (30, 60, 75),
    "client.equipment": (["full_gym"], ["dumbbells_home"]),
    "client.sore_joints": ([], ["knee"], ["low_back", "shoulder"]),
    "client.daily_activity": ("inactive", "low_active", "active"),
    "client.intake_kcal_per_day": ("none", 1400, 2300),
    "client.protein_g_per_day": ("none", 60),
    "client.diet": ("omnivore", "vegan"),
    "client.sleep_hours": (5, 7, 8.5),
    "client.stress_1_to_5": (1, 5),
    "client.shape_goal": ("hourglass", "wider_top", "even", "none"),
    "client.priority_muscles": ([], ["quads"]),
    "client.lagging_leg_muscles": ([], ["hamstrings"]),
    "client.goal_weight_kg": ("none", 58, 75),
    "client.target_date": ("none", "2026-06-20", "2026-12-01"),
    "client.weeks_on_programme": ("none", 3, 9),
    "client.waist_cm": ("none", 72.5),
    "client.hip_cm": ("none", 99.5),
    "client.body_fat_percent": ("none", 24.5),
}
ASKED = tuple(key for key in DISTURBED if key != "self_harm_thoughts")


def people(count: int, seed: int) -> Iterator[Case]:
    """Yield people with up to six answers that are red, unusual or silent, and any plain answers."""
    chance = random.Random(seed)
    for _ in range(count):
        base = chance.choice(("woman", "man"))
        keys = chance.sample(ASKED, chance.choice((0, 1, 1, 2, 2, 3, 4, 6)))
        answers = case_answers(base, {k: chance.choice(possible_values(base, k)) for k in keys})
        answers |= {k: chance.choice(v) for k, v in PLAIN.items() if chance.random() < 0.9}
        yield Case("Invented Person", DAY, checked(answers))


@functools.cache
def planner() -> Planner:
    return planner_on(DAY, "clips")


def flat(text: str) -> str:
    return " ".join(text.split())


def page_of(plan: Plan, narrator: Narrator, programme: Programme | None) -> Page:
    shown = sessions_text(programme, narrator.phrases, plan.audience) if programme else []
    week = None if programme is None else WeekRows(programme)
    whole = PlanText(plan, narrator, week, full=True).text()
    first = next((s for s in plan.sections if s.id == "first"), None)
    rest = [line for s in plan.sections if s is not first for line in s.lines]
    said = [text for line in rest for text in (line.text, line.reason)]
    return Page(plan.audience, flat(whole), flat(" ".join([*said, *shown])))


def html_page(plan: Plan, narrator: Narrator) -> Page:
    english = read_language(knowledge(), "en")
    html = page_html(plan, narrator, english, english)
    text = flat(re.sub(r"<[^>]*>", " ", re.sub(r"<style>.*?</style>", " ", html, flags=re.DOTALL)))
    rest = text
    for line in (line for s in plan.sections if s.id == "first" for line in s.lines):
        rest = rest.replace(flat(line.text), " ")
    return Page("html", text, rest)


def found_on_pages(case: Case, *, week: bool = False, html: bool = True) -> list[str]:
    run = planner().run(case)
    flags = [record["id"] for record in flag_records(knowledge(), run)]
    person = Person(flags, withheld_outputs(run))
    programme = None
    if week and not is_stopped(run):
        week = week_now(planner(), run, case, None)
        programme = None if week is None else week.programme
    pages = []
    readers: tuple[Audience, ...] = ("coach", "client")
    for audience in readers:
        narrator = planner().narrator(run, audience)
        plan = planner().plan(case, narrator, programme)
        pages.append(page_of(plan, narrator, programme))
        if html and audience == "client":
            pages.append(html_page(plan, narrator))
    note = referral_note(planner().narrator(run, "coach"), case.name)
    if note is not None:
        pages.append(Page("note", flat(note), flat(note)))
    return [f"{flags}: {found}" for page in pages for found in contradictions(page, person)]


def none_found(cases: Iterator[Case], **how: bool) -> None:
    found = [line for case in cases for line in found_on_pages(case, **how)]
    assert not found, "\n".join(found[:20])


@pytest.mark.parametrize("voice", ["coach", "client", "self"])
def test_no_flag_says_what_another_may_take_away(voice: str) -> None:
    """What a flag says stands beside all others, so it promises nothing that one of them leaves out."""
    for flag in knowledge().flags.values():
        said = flat(flag.to(voice))  # type: ignore[arg-type]
        if "ALL_EXERCISE" not in flag.withheld and flag.severity != "stop":
            assert not re.search(TRAINS, said), (flag.id, said)
        assert not re.search(r"[Aa]t most a small deficit", said), (flag.id, said)


def test_no_page_of_a_generated_person_contradicts_itself() -> None:
    none_found(people(12, 11))


def test_no_page_with_sessions_contradicts_itself() -> None:
    none_found(people(1, 12), week=True)


# One flag at a time, on somebody who wished for everything that the flag can take away.
ONE_RED = [(key, value) for key, values in RED.items() for value in values[-1:]]


@pytest.mark.parametrize("goal", ["lose_fat", pytest.param("gain_muscle", marks=pytest.mark.slow)])
def test_no_single_sign_makes_a_page_contradict_itself(goal: str) -> None:
    wish = {
        "client.goal": goal, "client.shape_goal": "hourglass", "client.priority_muscles": [],
        "client.training_age_months": 30, "client.sessions_per_week_now": 3,
        "client.available_days": ["mon", "tue", "thu", "sat"], "client.minutes_per_session": 60,
        "client.daily_activity": "active", "client.sleep_hours": 8, "client.target_date": "2026-12-01",
    }  # fmt: skip
    found = []
    for number, (key, red) in enumerate(ONE_RED):
        if key == "self_harm_thoughts":
            continue
        value = [red] if isinstance(case_answers("woman", {}).get(f"screen.{key}"), list) else red
        case = Case(
            "Invented Person", DAY, checked({**case_answers("woman", {key: value}), **wish})
        )
        found += found_on_pages(case, html=number % 9 == 0)
    assert not found, "\n".join(found)


def test_the_shipped_cases_do_not_contradict_themselves() -> None:
    for path in sorted((Path(__file__).parents[2] / "cases").glob("*.yaml")):
        case = read_case(path, knowledge())
        if case.as_of == DAY:
            assert not found_on_pages(case, html=False), path.name


@pytest.mark.slow
def test_no_page_of_many_people_contradicts_itself() -> None:
    for number, case in enumerate(people(MANY, 13)):
        found = found_on_pages(case, html=number % 10 == 0)
        assert not found, found


@pytest.mark.slow
def test_no_page_with_sessions_of_many_people_contradicts_itself() -> None:
    none_found(people(at_length(300, in_ci=20), 14), week=True)


@pytest.mark.parametrize(
    ("said", "withheld", "flags", "name"),
    [
        ("Nothing you told us stands in the way.", (), ("bp_raised",), "nothing in the way, beside a flag"),
        ("Training waits until someone has looked. Your week: full body.", (), (),
         "training waits, and sessions"),
        ("Lats: 7 hard sets a week.", ("vigorous_effort",), ("bp_high",),
         "hard sets where hard effort is left out"),
        ("We leave out figures. Your plan leaves out food and body figures. Eat about 2200 kcal a day.",
         (), (), "food figures left out, and food figures"),
        ("1. Box jump: 3 sets", ("impact_work",), (), "no jumps, and a jump"),
        ("A few weeks of weighing and logging tell more.", ("body_measures",), (),
         "not measured, and weighing"),
        ("Your goal: lose fat. Right now: hold.", ("energy_deficit",), (), "no cut, and a cut"),
        ("Nothing about your training changes because of this. Your strength training goes on at a comfortable effort.", (), (),
         "in full, beside a limit"),
        ("You need to see nobody before you start. Please see a doctor, today.", (), (),
         "nobody to see, beside somebody to see"),
    ],
)  # fmt: skip
def test_a_planted_contradiction_is_found(
    said: str, withheld: tuple[str, ...], flags: tuple[str, ...], name: str
) -> None:
    found = contradictions(Page("client", said, said), Person(flags, withheld))
    assert any(line.startswith(f"{name} (") for line in found), found
    assert contradictions(Page("client", "Drink to thirst.", ""), Person(flags, withheld)) == []


def test_every_pair_names_a_condition_and_every_silent_line_exists() -> None:
    kb = knowledge()
    outputs = set(kb.book.domains["output"])
    assert len({pair.name for pair in PAIRS}) == len(PAIRS)
    for pair in PAIRS:
        assert pair.withheld <= outputs
        assert bool(pair.withheld) + bool(pair.while_) + pair.flagged == 1, pair.name
    layout = planner().kb.plan
    parts = [part.model_dump() for section in layout.sections for part in section.parts]
    lines = {part["line"] for part in parts if "line" in part}
    notes = tuple(part["notes"] for part in parts if "notes" in part)
    gaps = {f"gap.{fact}" for part in parts for fact in part.get("gaps", ())}
    assert layout.silent.keys() <= outputs
    for output, silent in layout.silent.items():
        for line in (*silent.both, *silent.coach, *silent.client):
            known = line in lines | gaps or (line in kb.facts and line.startswith(notes))
            assert known, f"{output}: {line}"
