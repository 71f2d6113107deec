"""A review as text: the decision first, then what it rests on, then lift by lift."""

import datetime as dt
from collections.abc import Sequence

from assistant.measure import Findings
from assistant.measure.lifts import LiftTrend
from assistant.measure.tape import GirthChange
from assistant.model.plan import Plan
from assistant.plan.phrases import underlined, wrapped
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.report.text import sections_text

SECTIONS = ("first", "review_decision", "review_evidence", "review")


def review_text(plan: Plan, narrator: Narrator, found: Findings) -> str:
    """Return the parts of a plan that a review is about, and for a coach each lift by itself."""
    text = sections_text(plan, SECTIONS, "Review")
    for title, rows in measured_rows(narrator, found).items():
        text += "\n".join([*underlined(title), *(f"- {row}" for row in rows)]) + "\n"
    return text


def measured_rows(narrator: Narrator, found: Findings) -> dict[str, list[str]]:
    """Return what was measured, lift by lift and tape by tape, under their titles; for a coach alone."""
    if narrator.audience != "coach" or is_stopped(narrator.run):
        return {}
    blocks = {
        "Lift by lift": [_lift(lift, narrator) for lift in found.strength.lifts],
        "Tape by tape": [
            _girth(change, narrator)
            for change in found.girths
            if not narrator.hides(f"record.girth_change_cm[{change.site}]")
        ],
    }
    return {title: rows for title, rows in blocks.items() if rows}


def warnings_text(warnings: Sequence[str], narrator: Narrator) -> str:
    """Return the warnings that are open, for a coach, under their heading; empty without any."""
    words = narrator.kb.plan.warnings
    if words is None or not warnings:
        return ""
    rows = [row for each in warnings for row in wrapped(each, "- ")]
    return "\n".join([*underlined(words.title), *rows]) + "\n"


def _girth(change: GirthChange, narrator: Narrator) -> str:
    name = narrator.phrases.label(change.site)
    fact = "record.girth_change_cm"
    unit = narrator.phrases.unit_of(fact)
    moved = narrator.phrases.value(fact, change.change_cm.value)
    least = narrator.phrases.value(fact, change.smallest_cm)
    if change.can_be_told:
        return f"{name}: {moved} {unit}, more than the {least} a tape can err; likely real."
    again = change.first + dt.timedelta(
        weeks=narrator.kb.parameter_value("measure.tape_weeks", narrator.on).value
    )
    when = f"; judge it on {again.isoformat()}" if again > change.last else ""
    return (
        f"{name}: too early to tell, {moved} {unit} is less than the {least} a tape can err{when}."
    )


def _lift(lift: LiftTrend, narrator: Narrator) -> str:
    known = narrator.kb.exercises.by_id.get(lift.exercise)
    name = narrator.phrases.label(lift.exercise) if known is None else known.name
    if lift.rate is None:
        when = f" before {lift.ready_on.isoformat()}" if lift.ready_on else " yet"
        return f"{name}: too early to tell{when}; {lift.exposures} times so far."
    rate = lift.rate.percent_per_week
    return (
        f"{name}: {rate.value:+.2f} % a week, nine times in ten {rate.low:+.2f} to "
        f"{rate.high:+.2f}; {lift.exposures} times over {lift.weeks:.0f} weeks."
    )
