"""Runs the screen alone: worked examples in, flags, level, withheld outputs and referrals out."""

import datetime as dt
import functools
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import yaml

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import check_answers
from assistant.engine import CompiledBook, compile_knowledge, run_engine
from assistant.engine.run import EngineChoice
from assistant.knowledge import load_knowledge
from assistant.model.derivation import Run
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value

DAY = dt.date(2026, 1, 12)
EXAMPLES: Mapping[str, Any] = yaml.safe_load(
    (Path(__file__).parent / "vignettes.yaml").read_text(encoding="utf-8")
)
GROUPS: Mapping[str, list[str]] = EXAMPLES["output_groups"]
HEIGHT_CM = {"woman": 165.0, "man": 178.0}
# Weakest first, as in the worked examples read backwards.
LEVELS = ("none", *reversed(EXAMPLES["severities"]))
URGENCIES = tuple(reversed(EXAMPLES["urgencies"]))

_CLIENT_FACTS = {
    "age": "client.age_years",
    "sex": "client.sex_for_equations",
    "goal": "client.goal",
}
_WEIGHT = "client.weight_kg"


@functools.cache
def knowledge() -> KnowledgeBase:
    """The shipped book."""
    return load_knowledge(calculators=CALCULATORS)


def flag_words(kb: KnowledgeBase) -> dict[str, Any]:
    """What is said about flags, as plain data: what all share, and each flag under `flags`."""
    kept = {"area", "coach", "client", "self", "first_steps", "note", "training", "rescreen_weeks"}
    flags = {name: flag.model_dump(include=kept) for name, flag in kb.flags.items()}
    return {**kb.screen_words.model_dump(), "flags": flags}


@functools.cache
def screen_book() -> CompiledBook:
    """The rules of the screen alone: no later rule can change what it concludes."""
    kb = knowledge()
    rules = {name: rule for name, rule in kb.rules.items() if rule.stage == "screen"}
    return compile_knowledge(replace(kb, rules=rules), DAY)


@dataclass(frozen=True)
class Outcome:
    """What the screen says about one person."""

    flags: frozenset[str]
    level: str
    withheld: frozenset[str]
    referrals: Mapping[str, str]

    def is_at_least_as_careful_as(self, other: "Outcome") -> bool:
        """No lower level, nothing given back, nobody left out and nobody later."""
        return (
            LEVELS.index(self.level) >= LEVELS.index(other.level)
            and self.withheld >= other.withheld
            and all(
                role in self.referrals
                and URGENCIES.index(self.referrals[role]) >= URGENCIES.index(urgency)
                for role, urgency in other.referrals.items()
            )
        )


def case_answers(base: str, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Return the answers of a base person with changes, as they would stand in a case file.

    A body mass index becomes a weight at the base person's height.
    """
    answers: dict[str, Any] = {"client.height_cm": HEIGHT_CM[base]}
    for key, value in {**EXAMPLES["base_answers"][base], **changes}.items():
        if key == "bmi":
            is_number = isinstance(value, int | float)
            metres = HEIGHT_CM[base] / 100.0
            answers[_WEIGHT] = value * metres**2 if is_number else value
        elif key == "goal":
            answers["client.goal"] = {"build_muscle": "gain_muscle"}.get(value, value)
        else:
            answers[_CLIENT_FACTS.get(key, f"screen.{key}")] = value
    return answers


def checked(raw: Mapping[str, Any]) -> dict[str, Value]:
    """Return answers as the loader of cases understands them; a problem fails the test."""
    answers, problems = check_answers(raw, knowledge(), "answers")
    assert not problems, "\n".join(str(problem) for problem in problems)
    return dict(answers)


def screen(answers: Mapping[str, Value], engine: EngineChoice | None = None) -> Outcome:
    """Return what the screen concludes from checked answers."""
    return outcome_of(run_engine(screen_book(), answers, DAY, engine, CALCULATORS))


def screen_person(base: str, changes: Mapping[str, Any]) -> Outcome:
    """Return what the screen concludes about a base person with changes."""
    return screen(checked(case_answers(base, changes)))


def outcome_of(run: Run) -> Outcome:
    """Read the screen's conclusions from a run."""
    prefix = "screen.referral_urgency["
    return Outcome(
        flags=_items(run, "screen.flags"),
        level=str(run.facts["screen.level"].value),
        withheld=_items(run, "screen.withheld"),
        referrals={
            key.removeprefix(prefix).removesuffix("]"): str(fact.value)
            for key, fact in run.facts.items()
            if key.startswith(prefix)
        },
    )


def expanded(outputs: list[str]) -> frozenset[str]:
    """Return output ids with the group names of the worked examples written out."""
    return frozenset(each for name in outputs for each in GROUPS.get(name, [name]))


def _items(run: Run, key: str) -> frozenset[str]:
    fact = run.facts.get(key)
    if fact is None or isinstance(fact.value, Status):
        return frozenset()
    assert isinstance(fact.value, tuple)
    return frozenset(fact.value)
