"""Invented clients with findings of the screen: answers that raise flags, in all combinations."""

from __future__ import annotations

import dataclasses
import datetime as dt
import random
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.knowledge import load_knowledge
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme
from assistant.model.values import Status
from assistant.plan import Planner, prepare
from assistant.plan.week import week_request
from assistant.programme.request import ProgrammeRequest
from assistant.programme.week import plan_week

ON = dt.date(2026, 1, 12)
BASE = Path(__file__).parents[2] / "cases" / "four_days.yaml"
Answers = dict[str, object]

# What raises each flag that a lifting plan can stand beside; lists are joined, the rest replaced.
FINDINGS: Mapping[str, Answers] = {
    "postpartum_under_6_weeks": {"screen.weeks_since_birth": 3, "screen.birth_by_section": False},
    "postpartum_6_to_12_weeks": {"screen.weeks_since_birth": 8, "screen.birth_by_section": False},
    "pregnant": {"screen.pregnant": True, "screen.pregnancy_trimester": 1},
    "osteoporosis": {"screen.osteoporosis": "yes_no_fracture"},
    "osteoporosis_with_fracture": {"screen.osteoporosis": "with_vertebral_fracture"},
    "bp_raised": {"screen.bp_systolic": 146, "screen.bp_diastolic": 84},
    "bp_high": {"screen.bp_systolic": 164, "screen.bp_diastolic": 96},
    "pelvic_floor_symptom": {"screen.pelvic_floor_symptom": True},
    "hernia_or_bulge": {"screen.conditions": ("hernia_or_bulge",), "screen.hernia_stuck": False},
    "eye_pressure_risk": {"screen.conditions": ("glaucoma",)},
    "anticoagulant": {"screen.medicines": ("anticoagulant",), "screen.head_knock_recent": False},
    "epilepsy": {"screen.conditions": ("epilepsy",), "screen.seizure_last_year": False},
    "standing_intolerance": {"screen.conditions": ("faint_or_racing_on_standing",)},
    "joint_dislocations": {"screen.joint_dislocations": True},
    "fall_risk": {"screen.falls_last_year": 3},
    "tendon_medicine": {"screen.medicines": ("fluoroquinolone",)},
    "concussion_return": {"screen.conditions": ("concussion_recent",)},
    "sickle_trait": {"screen.conditions": ("sickle_trait",)},
    "past_heat_collapse": {"screen.conditions": ("past_heat_collapse",)},
    "past_muscle_breakdown": {"screen.conditions": ("past_muscle_breakdown",)},
    "lymphoedema": {"screen.conditions": ("lymphoedema",)},
    "cancer_treatment": {"screen.conditions": ("cancer_treatment",)},
    "new_to_exercise": {"screen.active_last_3_months": False},
    "under_18": {"client.age_years": 17, "screen.guardian_agrees": True},
    "bp_not_measured": {
        "screen.bp_systolic": Status.UNKNOWN,
        "screen.bp_diastolic": Status.DECLINED,
        "screen.medicines": ("diuretic",),
    },
}
KITS = (("full_gym",), ("full_gym",), ("dumbbells_home",), ("bands_home",), ("bodyweight",))
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
JOINTS = ("knee", "low_back", "shoulder", "hip", "wrist", "elbow")


@cache
def knowledge() -> KnowledgeBase:
    """The book up to the doses: later stages cannot change a week, and take half the time."""
    book = load_knowledge(calculators=CALCULATORS)
    last = book.book.stages.index("dose")
    early = {
        name: rule
        for name, rule in book.rules.items()
        if book.book.stages.index(rule.stage) <= last
    }
    return dataclasses.replace(book, rules=early)


@cache
def planner() -> Planner:
    return prepare(knowledge(), ON, "clips")


@cache
def _base_case() -> Case:
    return read_case(BASE, knowledge())


@dataclass(frozen=True)
class Flagged:
    """A client with what the rules make of the answers."""

    answers: Answers
    run: Run

    @property
    def flags(self) -> frozenset[str]:
        found = self.run.facts.get("screen.flags")
        return frozenset(found.value) if found and isinstance(found.value, tuple) else frozenset()

    @property
    def novice(self) -> bool:
        return self.run.facts["training.level"].value == "novice"

    def request(self) -> ProgrammeRequest | None:
        return week_request(self.run, planner().catalogue)

    def week(self) -> Programme | None:
        asked = self.request()
        return asked and plan_week(asked, planner().catalogue, try_remedies=False)

    def text(self, audience: str) -> list[str]:
        """The plan's lines as one reader sees them."""
        narrator = planner().narrator(self.run, audience)  # type: ignore[arg-type]
        plan = planner().plan(_case(self.answers), narrator)
        return [
            text
            for section in plan.sections
            for line in section.lines
            for text in (line.text, line.reason)
        ]


def client(*changes: Answers) -> Flagged:
    """The base client with findings and other answers put in."""
    answers: Answers = dict(_base_case().answers)
    for change in changes:
        for key, value in change.items():
            had = answers.get(key)
            both = isinstance(value, tuple) and isinstance(had, tuple)
            answers[key] = tuple(dict.fromkeys((*had, *value))) if both else value  # type: ignore[misc,arg-type]
    return Flagged(answers, planner().run(_case(answers)))


def with_flag(flag: str, **more: object) -> Flagged:
    """The base client with one flag; further answers by their key with `__` for the dot."""
    found = client(FINDINGS[flag], {key.replace("__", "."): value for key, value in more.items()})
    assert flag in found.flags, flag
    return found


def generated(number: int, seed: int = 31_05) -> Flagged:
    """Person `number`: none to three findings, any level, kit, days, joints and weeks on."""
    draw = random.Random(seed * 1_000_003 + number)  # invented people are no secret
    names = draw.sample(sorted(FINDINGS), draw.choice([0, 1, 1, 1, 2, 2, 3]))
    training: Answers = {
        "client.training_age_months": draw.choice([0, 3, 9, 24, 60]),
        "client.sessions_per_week_now": draw.choice([0, 1, 2, 3, 4]),
        "client.weeks_on_programme": draw.choice([0, 1, 2, 3, 4, 9]),
        "client.available_days": tuple(
            sorted(draw.sample(DAYS, draw.randint(1, 6)), key=DAYS.index)
        ),
        "client.minutes_per_session": draw.choice([20, 30, 45, 60, 60, 75, 90]),
        "client.equipment": draw.choice(KITS),
        "client.sore_joints": tuple(draw.sample(JOINTS, draw.choice([0, 0, 0, 1, 2]))),
        "client.block_reps_now": draw.choice(["moderate", "light", "heavy"]),
        "client.age_years": draw.randint(19, 78),
        "client.shape_goal": draw.choice(["wider_top", "fuller_glutes", "hourglass", "even"]),
    }
    twists: Answers = {}
    if "pregnant" in names:
        twists["screen.pregnancy_trimester"] = draw.choice([1, 2, 3])
    if "postpartum_6_to_12_weeks" in names:
        twists["screen.birth_by_section"] = draw.choice([True, False])
    return client(training, *(FINDINGS[name] for name in names), twists)


def _case(answers: Answers) -> Case:
    return dataclasses.replace(_base_case(), answers=answers)
