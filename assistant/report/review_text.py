"""A review as text: the decision first, then what it rests on, then lift by lift."""

from assistant.measure import Findings
from assistant.measure.lifts import LiftTrend
from assistant.model.plan import Plan
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.report.text import plan_text

SECTIONS = ("first", "review_decision", "review_evidence", "review")


def review_text(plan: Plan, narrator: Narrator, found: Findings) -> str:
    """Return the parts of a plan that a review is about, and for a coach each lift by itself."""
    text = plan_text(plan, only=SECTIONS, title="Review")
    lifts = found.strength.lifts
    if narrator.audience != "coach" or not lifts or is_stopped(narrator.run):
        return text
    title = "Lift by lift"
    rows = [title, "-" * len(title), *(_lift(lift, narrator) for lift in lifts)]
    return text + "\n" + "\n".join(rows) + "\n"


def _lift(lift: LiftTrend, narrator: Narrator) -> str:
    name = narrator.phrases.label(lift.exercise)
    rate = lift.rate_percent_per_week
    if rate is None:
        when = f" before {lift.ready_on.isoformat()}" if lift.ready_on else " yet"
        return f"- {name}: too early to tell{when}; {lift.exposures} times so far."
    return (
        f"- {name}: {rate.value:+.2f} % a week, nine times in ten {rate.low:+.2f} to "
        f"{rate.high:+.2f}; {lift.exposures} times over {lift.weeks:.0f} weeks."
    )
