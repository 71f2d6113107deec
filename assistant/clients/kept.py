"""New versions of a client's plan: what is kept of a run, what it agrees, and which week goes with it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from assistant.clients.edits import EDITS
from assistant.clients.person import Person
from assistant.clients.week import week_of_next_block
from assistant.model.derivation import Run
from assistant.model.kept import KeptWeek
from assistant.model.values import FactKey
from assistant.model.version import Cause
from assistant.plan.agreeing import accepting
from assistant.plan.digest import plan_digest
from assistant.records.chain import NewLine
from assistant.records.projection import answers_line
from assistant.records.versions import version_lines

Lines = tuple[NewLine, NewLine]
_BLOCK = ("block.rotate_now",)
# What a kept plan agrees, where it does.
_AGREED = ("energy.target_kcal_per_day", "phase.now", *_BLOCK)
# What the screen can take from a plan for food.
_FOOD = frozenset({"energy_deficit", "energy_surplus", "energy_number", "exercise_any"})
# Only an accepted review is kept with what it decided.
_DECISION = "review.dec"
_DOSE = ("dose.sets_per_week[", "dose.sessions_per_week[", "priority.muscles")
_NEXT_LOOK = ("review.weeks", "review.next_date")
# Somebody looked at the plan as a whole, so the day of the next look is set anew.
_LOOKS = {"added", "answers", "review"}


@dataclass(frozen=True)
class Why:
    """Why a version is made, by whom, and the reason in that person's words."""

    cause: Cause
    by: str = ""
    reason: str = ""


def new_version(
    person: Person, why: Why, *, agrees: bool = True, week: KeptWeek | None = None
) -> Lines:
    """Return the plan of the day as the next version, without a review's decision.

    agrees: food and phase of the plan are agreed with it; else what was agreed before goes on. The
    block goes on either way; only an accepted review ends one. week: the week to keep with it; None for
    the one that is due.
    """
    if why.cause in _LOOKS:
        person = person.looking_again()
    not_agreed = _AGREED if not agrees else _BLOCK if person.versions else ()
    return _line(person, person.run(), why, not_agreed, week=week)


def told_anew(
    person: Person, why: Why, *, agrees: bool = False, kept: KeptWeek | None = None, **part: Any
) -> tuple[NewLine, ...]:
    """Return a part of a person's case (`decisions`, `overrides`, `week`) told anew, and the version of it.

    agrees, kept: as `new_version` has them, the second its week.
    """
    then = replace(person, case=replace(person.case, **part))
    told = answers_line({}, person.planner.on, **part)
    return (told, *new_version(then, why, agrees=agrees, week=kept))


def accepted(person: Person, why: Why) -> Lines:
    """Return the version that an accepted review makes: what was decided, and the plan it leads to."""
    looked = person.looking_again()
    assert looked.history is not None  # whoever has a review has a record
    done = accepting(looked.planner, looked.case, looked.history, looked.run())
    return _line(looked, done.after, why, (), decided=done.digest)


def screened_anew(person: Person) -> Lines | None:
    """Return the next version where the record changed what the screen says; None where it did not.

    What the screen newly takes from the food is agreed that day; nothing else is agreed without a
    person, and what the screen gives back waits for one.
    """
    before: Mapping[str, Any] = person.current.digest if person.current is not None else {}
    run = person.run()
    now = plan_digest(person.planner.kb, run, person.planner.on)
    if _screened(now) == _screened(before):
        return None
    taken = _FOOD & (set(now["withheld"]) - set(before.get("withheld", ())))
    return _line(person, run, Why("screen"), _BLOCK if taken else _AGREED)


def _line(
    person: Person,
    run: Run,
    why: Why,
    not_agreed: tuple[str, ...],
    decided: Mapping[str, Any] | None = None,
    week: KeptWeek | None = None,
) -> Lines:
    """Return a version: the plan of a run, its week with its edits, and which facts nobody agreed with it.

    decided: the digest of an accepted review, whose decision stands beside the plan it leads to. week:
    the week to keep; None for the one that is due.
    """
    on = person.planner.on
    digest = plan_digest(person.planner.kb, run, on)
    facts = {k: v for k, v in digest["facts"].items() if not k.startswith(_DECISION)}
    if decided is not None:
        facts = {k: v for k, v in facts.items() if not _is_of_the_review(k)}
        facts |= {k: v for k, v in decided["facts"].items() if _is_of_the_review(k)}
    week = week or _due(person, run, facts, why)
    kept = {"week": week.as_written()} if week is not None else {}
    edits = [edit.as_written() for edit in person.case.week.edits]
    body = {**digest, "facts": facts, **kept, **({EDITS: edits} if edits else {})}
    return version_lines(body, on, why.cause, why.by, why.reason, not_agreed)


def _due(person: Person, run: Run, facts: Mapping[str, Any], why: Why) -> KeptWeek | None:
    """Return the week that goes with a version of these facts; None where nothing is trained."""
    if facts.get("review.decision") == "rotate_block":
        week = week_of_next_block(person.planner, run, person.case, person.versions)
    else:
        week = person.week(run, anew=_asks_for_another_week(person, facts, why), usual=True)
    return week.kept if week is not None and week.programme.sessions else None


def _asks_for_another_week(person: Person, facts: Mapping[str, Any], why: Why) -> bool:
    """Tell whether another dose than that of the kept week is asked for, or other answers were brought."""
    before = {} if person.current is None else person.current.facts
    dose = [key for key in {*before, *facts} if key.startswith(_DOSE)]
    return why.cause == "answers" or any(before.get(key) != facts.get(key) for key in dose)


def _is_of_the_review(key: FactKey) -> bool:
    """Tell whether a fact stands as on the day of the review: what it decided and what it measured."""
    return key.startswith(("review.", "energy.measured_")) and key not in _NEXT_LOOK


def _screened(digest: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what the screen says in a digest."""
    flags = sorted(flag["id"] for flag in digest.get("flags", ()))
    to = sorted((each["to"], each["urgency"]) for each in digest.get("referrals", ()))
    resting = digest.get("facts", {}).get("training.resting_joints", [])
    return digest.get("level", "none"), flags, to, sorted(digest.get("withheld", ())), resting
