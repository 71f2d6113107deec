"""What accepting a review makes stand: what is agreed, and the figures of the day after.

A review says what it would change before anybody accepts it. What is agreed is run like any other
record, so the figures shown before are the figures of the plan afterwards.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from assistant.measure import agreement_of
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.history import History
from assistant.plan.build import Planner
from assistant.plan.digest import plan_digest
from assistant.plan.record import findings_of

_TARGET, _NEXT = "energy.target_kcal_per_day", "review.next_target_kcal_per_day"


@dataclass(frozen=True)
class Accepting:
    """A review and what accepting it leads to.

    digest: what is kept of the review, with the food that goes with a phase moved to. before, after:
    the rules on the record as it stands, and with what is agreed.
    """

    digest: Mapping[str, Any]
    before: Run
    after: Run


def accepting(planner: Planner, case: Case, history: History, before: Run) -> Accepting:
    """Return what accepting the review of a run would agree, and the run it leads to.

    before: the run on the case and the history up to the planner's day.
    """
    digest = plan_digest(planner.kb, before, planner.on)
    after = _agreed_run(planner, case, history, digest)
    facts = digest["facts"]
    if facts.get("review.decision") == "move_phase" and _NEXT not in facts:
        # The food of the next phase is the rules' own; it is agreed with the phase.
        own = plan_digest(planner.kb, after, planner.on)["facts"].get(_TARGET)
        if own is not None:
            digest = {**digest, "facts": {**facts, _NEXT: own}}
            after = _agreed_run(planner, case, history, digest)
    return Accepting(digest, before, after)


def _agreed_run(planner: Planner, case: Case, history: History, digest: Mapping[str, Any]) -> Run:
    is_first = not history.agreements
    agreed = agreement_of(digest["facts"], planner.on, is_first=is_first)
    then = replace(history, agreements=(*history.agreements, agreed))
    return planner.run(case, findings_of(planner.kb, case, then, planner.on))
