"""Laws of the signs in a record: worse never unlocks, agreeing never hides, silence closes nothing.

The laws follow from the order of the screen; no figure of ours is tested here. Both engines run.
"""

import dataclasses
import datetime as dt
from collections.abc import Callable

import pytest
from generated_records import LAST, Worse, agreements, records, with_worse, worse_entries
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from lengths import at_length
from records import day
from shipped import planner_on

from assistant.engine import EngineChoice, durable
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.history import Agreement, History
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status
from assistant.plan import Planner
from assistant.plan.record import findings_of

ENGINE: EngineChoice = "both" if durable.importable() else "clips"
LATER = (1, 9, 40)
Screens = Callable[[History, int], "Screened"]
MANY = at_length(300, in_ci=40)
EXAMPLES = pytest.mark.parametrize(
    "many", [5, pytest.param(MANY, marks=pytest.mark.slow, id="at length")]
)


@dataclasses.dataclass(frozen=True)
class Screened:
    """What the screen makes of a record."""

    level: int
    flags: frozenset[str]
    withheld: frozenset[str]
    resting: frozenset[str]
    referrals: frozenset[str]

    def is_at_least_as_careful_as(self, other: "Screened") -> bool:
        return (
            self.level >= other.level
            and self.withheld >= other.withheld
            and self.resting >= other.resting
            # At a body mass index under 16 a doctor the same day takes the place of the dietitian.
            and (self.referrals >= other.referrals or "bmi_under_16" in self.flags - other.flags)
        )


@pytest.fixture(scope="module")
def screened(kb: KnowledgeBase, case: Case) -> Screens:
    """Runs the whole book on a record; the case wants to lose fat, so a cut is there to be stopped."""
    made: dict[int, Planner] = {}
    own = dataclasses.replace(
        case,
        answers={**case.answers, "client.goal": "lose_fat", "client.goal_weight_kg": Status.NONE},
        as_of=dt.date(2026, 1, 1),
    )

    def run(history: History, last: int = LAST) -> Screened:
        if last not in made:
            made[last] = planner_on(day(last), ENGINE)
        found = findings_of(kb, own, history, day(last))
        return _screened(kb, made[last].run(own, found))

    return run


def _screened(kb: KnowledgeBase, run: Run) -> Screened:
    def items(key: str) -> frozenset[str]:
        fact = run.facts.get(key)
        return frozenset(fact.value) if fact and isinstance(fact.value, tuple) else frozenset()

    return Screened(
        kb.facts["screen.level"].choices.index(str(run.facts["screen.level"].value)),
        items("screen.flags"), items("screen.withheld"), items("training.resting_joints"),
        frozenset(key for key in run.facts if key.startswith("screen.referral_urgency[")),
    )  # fmt: skip


def examples(many: int) -> settings:
    return settings(max_examples=many, deadline=None, suppress_health_check=list(HealthCheck))


@EXAMPLES
def test_a_worse_entry_never_unlocks_anything(screened: Screens, many: int) -> None:
    @examples(many)
    @given(history=records(), worse=worse_entries)
    def law(history: History, worse: Worse) -> None:
        after_worse = with_worse(history, worse)
        assume(after_worse != history)
        before, after = screened(history, LAST), screened(after_worse, LAST)
        # A lower weight is good news for a fast or sudden gain alone, and bad news for all the rest.
        assume(worse.kind != "weight" or not before.flags & {"weight_gain_fast", "sudden_gain"})
        assert after.is_at_least_as_careful_as(before), (before, after)

    law()


@EXAMPLES
def test_a_decision_agreed_never_removes_a_sign(screened: Screens, many: int) -> None:
    @examples(many)
    @given(history=records(), agreed=agreements)
    def law(history: History, agreed: Agreement) -> None:
        before = screened(history, LAST)
        accepted = dataclasses.replace(history, agreements=(*history.agreements, agreed))
        for later in (0, LATER[1]):
            after = screened(accepted, LAST + later)
            assert after.flags >= before.flags, (later, before.flags - after.flags)
            assert after.is_at_least_as_careful_as(before), (later, before, after)

    law()


@EXAMPLES
def test_silence_closes_no_sign(screened: Screens, many: int) -> None:
    @examples(many)
    @given(history=records(), later=st.sampled_from(LATER))
    def law(history: History, later: int) -> None:
        before, after = screened(history, LAST), screened(history, LAST + later)
        assert after.flags >= before.flags, before.flags - after.flags
        assert after.is_at_least_as_careful_as(before), (before, after)

    law()
