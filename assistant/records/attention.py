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
from assistant.measure.trend import Window, weight_trend
from assistant.model.documents.attention import ReasonRule
from assistant.model.history import History, Pain
from assistant.records.attention_book import AttentionBook

Slots = dict[str, str]
_BODY = "body_measures"
_DAYS_A_WEEK = 7


@dataclass(frozen=True)
class Look:
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
    def pace(self) -> Estimate | None:
        """The pace of body weight, % a week, over the whole weeks that were read."""
        weeks = min(int(self.settings.longest_weeks), 4)
        first = self.on - dt.timedelta(days=weeks * _DAYS_A_WEEK - 1)
        trend = weight_trend(self.history, Window(first, self.on), self.settings)
        if trend is None or trend.weighings < self.settings.weighings_per_week * 2:
            return None
        return trend.rate_percent_per_week


@dataclass(frozen=True)
class Reason:
    """A reason that holds. order: 0 is the most urgent."""

    order: int
    finds: str
    text: str


def reasons_for(look: Look, book: AttentionBook) -> list[Reason]:
    """Return the reasons that hold for a client, the most urgent first."""
    found = []
    for order, rule in enumerate(book.reasons):
        slots = _FINDERS[rule.finds](look, book.numbers(rule))
        if slots is not None:
            text = _sentence(rule, look, slots)
            found.append(Reason(order, rule.finds, text))
    return found


def _sentence(rule: ReasonRule, look: Look, slots: Slots) -> str:
    held = rule.say_held is not None and _BODY in look.plan.get("withheld", [])
    template = rule.say_held if held and rule.say_held else rule.say
    return template.format_map({**slots, "client": look.handle})


def _stop(look: Look, _: Mapping[str, float]) -> Slots | None:
    if look.plan.get("level") != "stop":
        return None
    flags = [flag["id"].replace("_", " ") for flag in look.plan["flags"]]
    return {"day": look.plan["as_of"], "flags": ", ".join(flags)}


def _referral(look: Look, _: Mapping[str, float]) -> Slots | None:
    if look.plan.get("level") != "withhold":
        return None
    roles = [item["to"].replace("_", " ") for item in look.plan.get("referrals", [])]
    return {"roles": ", ".join(roles) or "somebody qualified"}


def _worst_pain(look: Look, days: float) -> Pain | None:
    """Return the strongest pain of those last told about each joint."""
    since = look.on - dt.timedelta(days=int(days) - 1)
    last = {pain.joint: pain for pain in look.history.pains}
    recent = [pain for pain in last.values() if since <= pain.day <= look.on]
    return max(recent, key=lambda pain: pain.pain_0_to_10, default=None)


def _pain(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    worst = _worst_pain(look, numbers["days"])
    if worst is None or worst.pain_0_to_10 < numbers["at_least"]:
        return None
    return {
        "joint": worst.joint.replace("_", " "),
        "pain": str(worst.pain_0_to_10),
        "day": worst.day.isoformat(),
    }


def _fast(look: Look, limit: float) -> Slots | None:
    """Hold if the pace is past the line, and surely not standing still."""
    pace = look.pace
    if pace is None:
        return None
    sign = 1.0 if limit > 0 else -1.0
    surely_moving = pace.low > 0 if limit > 0 else pace.high < 0
    if sign * pace.value <= sign * limit or not surely_moving:
        return None
    shown = {"rate": pace.value, "low": pace.low, "high": pace.high, "limit": limit}
    return {name: f"{value:+.1f}" for name, value in shown.items()}


def _fast_loss(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    return _fast(look, numbers["limit"])


def _fast_gain(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    return _fast(look, numbers["limit"])


def _answers(look: Look, _: Mapping[str, float]) -> Slots | None:
    made = look.plan.get("as_of")
    if look.answered_on is None or (made is not None and look.answered_on.isoformat() <= made):
        return None
    return {"day": look.answered_on.isoformat()}


def _due(look: Look, _: Mapping[str, float]) -> Slots | None:
    if not look.due or look.due_since is None:
        return None
    return {"count": str(len(look.due)), "day": look.due_since.isoformat()}


def _mood(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    since = look.on - dt.timedelta(days=int(numbers["days"]) - 1)
    said = [note for note in look.history.notes if note.mood_1_to_5 is not None]
    if not said or said[-1].day < since or (said[-1].mood_1_to_5 or 0) > numbers["at_most"]:
        return None
    return {"mood": str(said[-1].mood_1_to_5), "day": said[-1].day.isoformat()}


def _missed(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    since = look.on - dt.timedelta(days=int(numbers["weeks"]) * _DAYS_A_WEEK - 1)
    marks = [mark.done for mark in look.history.sessions if since <= mark.day <= look.on]
    if len(marks) < numbers["planned"]:
        return None
    if 100.0 * sum(marks) >= numbers["percent"] * len(marks):
        return None
    weeks = f"{numbers['weeks']:g}"
    return {"done": str(sum(marks)), "planned": str(len(marks)), "weeks": weeks}


def _sleep(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    since = look.on - dt.timedelta(days=int(numbers["days"]) - 1)
    nights = [
        note.sleep_hours
        for note in look.history.notes
        if note.sleep_hours is not None and since <= note.day <= look.on
    ]
    if not nights or fmean(nights) >= numbers["under"]:
        return None
    return {"hours": f"{fmean(nights):.1f}"}


def _silent(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    days = (look.on - look.last_day).days
    if days < numbers["days"]:
        return None
    return {"days": str(days), "day": look.last_day.isoformat()}


def _review(look: Look, numbers: Mapping[str, float]) -> Slots | None:
    day = look.plan.get("facts", {}).get("review.next_date")
    if day is None:
        return None
    told = dt.date.fromisoformat(day) - dt.timedelta(days=int(numbers["ahead"]))
    return {"day": day} if told <= look.on else None


def _other_rules(look: Look, _: Mapping[str, float]) -> Slots | None:
    made_by = look.plan.get("book", {}).get("logic_hash")
    return {} if made_by not in {None, look.logic_hash} else None


_FINDERS: dict[str, Callable[[Look, Mapping[str, float]], Slots | None]] = {
    "screen_stop": _stop,
    "strong_pain": _pain,
    "fast_loss": _fast_loss,
    "fast_gain": _fast_gain,
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
