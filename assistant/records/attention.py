"""Who needs the coach first: which reasons hold for one client on one day.

The reasons, their order and their numbers are the rule book's (`rules/attention.yaml`); how each
is looked for is here. Everything read is passed in, so the same record gives the same reasons.
"""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from statistics import fmean
from typing import Any

from assistant.calculate.estimate import Estimate
from assistant.measure import Settings
from assistant.measure.habits import sessions
from assistant.measure.weight_safety import Fastest, fastest
from assistant.model.documents.attention import Attention, ReasonRule
from assistant.model.history import History, Pain
from assistant.model.knowledge import KnowledgeBase

Slots = dict[str, str]
_BODY = "body_measures"
# In the slots of a reason that the plan kept last tells, and nothing told since.
_KEPT = "kept"


@dataclass(frozen=True)
class AttentionBook:
    """The reasons with the values of their numbers in force on a day."""

    document: Attention
    values: Mapping[str, float]

    @property
    def reasons(self) -> tuple[ReasonRule, ...]:
        """The reasons, the most urgent first."""
        return self.document.reasons

    def numbers(self, rule: ReasonRule) -> Mapping[str, float]:
        """Return the numbers of a reason by the names it gives them."""
        return {name: self.values[parameter] for name, parameter in rule.numbers.items()}


def attention_book(knowledge: KnowledgeBase, on: dt.date) -> AttentionBook:
    """Return the reasons for a day. Raises InputProblems for a file that is missing."""
    document = knowledge.attention
    used = {parameter for rule in document.reasons for parameter in rule.numbers.values()}
    values = {name: knowledge.parameter_value(name, on).value for name in used}
    return AttentionBook(document, values)


@dataclass(frozen=True)
class Snapshot:
    """What is known of one client on a day.

    plan: the digest of the last plan, {} without one. history: what was measured lately. last_day:
    the last day anything is known of. answered_on: when an answer was last taken in. due: safety
    questions due again, with the day the first became due.
    """

    handle: str
    on: dt.date
    plan: Mapping[str, Any]
    history: History
    last_day: dt.date
    answered_on: dt.date | None
    due: tuple[str, ...]
    due_since: dt.date | None
    logic_hash: str
    settings: Settings

    @cached_property
    def paces(self) -> Fastest:
        """The fastest loss and the fastest gain that count lately."""
        return fastest(self.history, self.on, self.settings)

    def raised(self, *flags: str) -> bool:
        """Tell whether the plan kept last stands under one of these flags."""
        return any(flag["id"] in flags for flag in self.plan.get("flags", ()))


@dataclass(frozen=True)
class Reason:
    """A reason that holds. order: 0 is the most urgent."""

    order: int
    finds: str
    text: str


def reasons_for(snapshot: Snapshot, book: AttentionBook) -> list[Reason]:
    """Return the reasons that hold for a client, the most urgent first."""
    found = []
    for order, rule in enumerate(book.reasons):
        slots = _FINDERS[rule.finds](snapshot, book.numbers(rule))
        if slots is not None:
            text = _sentence(rule, snapshot, slots)
            found.append(Reason(order, rule.finds, text))
    return found


def _sentence(rule: ReasonRule, snapshot: Snapshot, slots: Slots) -> str:
    held = rule.say_held is not None and _BODY in snapshot.plan.get("withheld", [])
    template = rule.say_held if held and rule.say_held else rule.say
    if slots.get(_KEPT) and rule.say_kept:
        template = rule.say_kept
    return template.format_map({**slots, "client": snapshot.handle})


def _stop(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    if snapshot.plan.get("level") != "stop":
        return None
    flags = [flag["id"].replace("_", " ") for flag in snapshot.plan["flags"]]
    return {"day": snapshot.plan["as_of"], "flags": ", ".join(flags)}


def _referral(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    """Hold if parts of the plan wait for somebody, or somebody is still to be seen."""
    if snapshot.plan.get("level") != "withhold":
        still = snapshot.history.referrals
        roles = [each.role.replace("_", " ") for each in still]
        since = min((each.since.isoformat() for each in still), default="")
        return {_KEPT: "yes", "roles": ", ".join(roles), "day": since} if still else None
    roles = [item["to"].replace("_", " ") for item in snapshot.plan.get("referrals", [])]
    return {"roles": ", ".join(roles) or "somebody qualified"}


def _worst_pain(snapshot: Snapshot, days: float) -> Pain | None:
    """Return the strongest pain of those last told about each joint."""
    since = snapshot.on - dt.timedelta(days=int(days) - 1)
    last = {pain.joint: pain for pain in snapshot.history.pains}
    recent = [pain for pain in last.values() if since <= pain.day <= snapshot.on]
    return max(recent, key=lambda pain: pain.pain_0_to_10, default=None)


def _strong_pain(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    """Hold for strong pain told lately, and while the screen keeps it open."""
    found = _pain(snapshot, numbers)
    if found is None and snapshot.raised("strong_pain_unasked", "joint_pain"):
        return {_KEPT: "yes"}
    return found


def _pain(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    worst = _worst_pain(snapshot, numbers["days"])
    if worst is None or worst.pain_0_to_10 < numbers["at_least"]:
        return None
    return {
        "joint": worst.joint.replace("_", " "),
        "pain": str(worst.pain_0_to_10),
        "day": worst.day.isoformat(),
    }


def _fast(snapshot: Snapshot, pace: Estimate | None, limit: float, flag: str) -> Slots | None:
    """Hold if the pace that the screen reads is past its line, or the kept plan stands under it."""
    sign = 1.0 if limit > 0 else -1.0
    if pace is None or sign * pace.value <= sign * limit:
        return {_KEPT: "yes"} if snapshot.raised(flag) else None
    shown = {"rate": pace.value, "low": pace.low, "high": pace.high, "limit": limit}
    return {name: f"{value:+.1f}" for name, value in shown.items()}


def _fast_loss(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    return _fast(snapshot, snapshot.paces.loss, numbers["limit"], "weight_loss_fast")


def _fast_gain(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    return _fast(snapshot, snapshot.paces.gain, numbers["limit"], "weight_gain_fast")


def _sudden_gain(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    return {} if snapshot.raised("sudden_gain", "sudden_gain_signs") else None


def _mood_stays(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    return {} if snapshot.raised("low_mood", "low_mood_after_drugs") else None


def _answers(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    made = snapshot.plan.get("as_of")
    if snapshot.answered_on is None or (
        made is not None and snapshot.answered_on.isoformat() <= made
    ):
        return None
    return {"day": snapshot.answered_on.isoformat()}


def _due(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    if not snapshot.due or snapshot.due_since is None:
        return None
    return {"count": str(len(snapshot.due)), "day": snapshot.due_since.isoformat()}


def _mood(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    since = snapshot.on - dt.timedelta(days=int(numbers["days"]) - 1)
    said = [note for note in snapshot.history.notes if note.mood_1_to_5 is not None]
    if not said or said[-1].day < since or (said[-1].mood_1_to_5 or 0) > numbers["at_most"]:
        return None
    return {"mood": str(said[-1].mood_1_to_5), "day": said[-1].day.isoformat()}


def _missed(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    done, _, planned = sessions(snapshot.history, snapshot.on, snapshot.settings)
    if planned < numbers["planned"] or 100.0 * done >= numbers["percent"] * planned:
        return None
    return {"done": str(done), "planned": str(planned), "weeks": f"{numbers['weeks']:g}"}


def _sleep(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    since = snapshot.on - dt.timedelta(days=int(numbers["days"]) - 1)
    nights = [
        note.sleep_hours
        for note in snapshot.history.notes
        if note.sleep_hours is not None and since <= note.day <= snapshot.on
    ]
    if not nights or fmean(nights) >= numbers["under"]:
        return None
    return {"hours": f"{fmean(nights):.1f}"}


def _silent(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    days = (snapshot.on - snapshot.last_day).days
    if days < numbers["days"]:
        return None
    return {"days": str(days), "day": snapshot.last_day.isoformat()}


def _review(snapshot: Snapshot, numbers: Mapping[str, float]) -> Slots | None:
    day = snapshot.plan.get("facts", {}).get("review.next_date")
    if day is None:
        return None
    told = dt.date.fromisoformat(day) - dt.timedelta(days=int(numbers["ahead"]))
    return {"day": day} if told <= snapshot.on else None


def _other_rules(snapshot: Snapshot, _: Mapping[str, float]) -> Slots | None:
    made_by = snapshot.plan.get("book", {}).get("logic_hash")
    return {} if made_by not in {None, snapshot.logic_hash} else None


_FINDERS: dict[str, Callable[[Snapshot, Mapping[str, float]], Slots | None]] = {
    "screen_stop": _stop,
    "strong_pain": _strong_pain,
    "fast_loss": _fast_loss,
    "fast_gain": _fast_gain,
    "sudden_gain": _sudden_gain,
    "low_mood_stays": _mood_stays,
    "answers_newer_than_plan": _answers,
    "questions_due": _due,
    "referral_open": _referral,
    "pain": _pain,
    "low_mood": _mood,
    "missed_sessions": _missed,
    "short_sleep": _sleep,
    "silent": _silent,
    "review_due": _review,
    "other_rules": _other_rules,
}
