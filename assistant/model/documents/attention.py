"""attention.yaml: who needs the coach first, and why."""

from collections.abc import Iterator, Mapping
from typing import Literal

from assistant.model.base import Document, Fault, RuleFile, repeated
from assistant.model.marks import Number, Plain, Text, placeholders

Finds = Literal[
    "screen_stop", "strong_pain", "fast_loss", "fast_gain", "sudden_gain", "low_mood_stays",
    "answers_newer_than_plan", "questions_due", "referral_open", "pain", "low_mood",
    "missed_sessions", "short_sleep", "silent", "review_due", "other_rules",
]  # fmt: skip
# Safety outranks everything: these come before all others and none may be left out.
SAFETY: tuple[Finds, ...] = (
    "screen_stop", "strong_pain", "fast_loss", "fast_gain", "sudden_gain", "low_mood_stays",
    "answers_newer_than_plan", "questions_due", "referral_open",
)  # fmt: skip
_PACE = ("rate", "low", "high", "limit")
_PAIN = ("joint", "pain", "day")
# For each reason: the numbers it needs, and what its sentence can be filled with.
_NEEDS: Mapping[Finds, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "screen_stop": ((), ("day", "flags")),
    "strong_pain": (("at_least", "days"), _PAIN),
    "fast_loss": (("limit",), _PACE),
    "fast_gain": (("limit",), _PACE),
    "sudden_gain": ((), ()),
    "low_mood_stays": ((), ()),
    "answers_newer_than_plan": ((), ("day",)),
    "questions_due": ((), ("count", "day")),
    "referral_open": ((), ("roles", "day")),
    "pain": (("at_least", "days"), _PAIN),
    "low_mood": (("at_most", "days"), ("mood", "day")),
    "missed_sessions": (("percent", "planned", "weeks"), ("done", "planned", "weeks")),
    "short_sleep": (("under", "days"), ("hours",)),
    "silent": (("days",), ("days", "day")),
    "review_due": (("ahead",), ("day",)),
    "other_rules": ((), ()),
}


class ReasonRule(Document):
    """One reason: what is looked for, the parameters it reads, and the sentence.

    say_held: said instead where the screen holds back what the sentence would show. say_kept: said
    where only the plan kept last tells.
    """

    finds: Finds
    numbers: dict[str, Number] = {}
    say: Text
    say_held: Plain | None = None
    say_kept: Text | None = None


class Attention(RuleFile):
    """The whole file: reasons, the most urgent first."""

    schema_version: Literal[1]
    reasons: tuple[ReasonRule, ...]
    quiet: Plain

    def faults(self) -> Iterator[Fault]:
        """Yield reasons that are out of order, missing, or filled with what they do not find."""
        finds = [rule.finds for rule in self.reasons]
        yield from repeated((("reasons", n, "finds"), name) for n, name in enumerate(finds))
        for number, rule in enumerate(self.reasons):
            path = ("reasons", number)
            numbers, slots = _NEEDS[rule.finds]
            if set(rule.numbers) != set(numbers):
                text = f"`numbers` must name {', '.join(numbers) or 'nothing'}"
                yield Fault((*path, "numbers"), "bad-value", text)
            for slot in (*placeholders(rule.say), *placeholders(rule.say_kept or "")):
                if slot not in (*slots, "client"):
                    text = (
                        f"`{{{slot}}}` is not known here; allowed: {', '.join((*slots, 'client'))}"
                    )
                    yield Fault((*path, "say"), "bad-placeholder", text)
        for name in SAFETY:
            if name not in finds:
                text = f"`{name}` is about safety; put it back"
                yield Fault(("reasons",), "missing-reason", text)
        others = [place for place, name in enumerate(finds) if name not in SAFETY]
        last = max((place for place, name in enumerate(finds) if name in SAFETY), default=-1)
        if others and others[0] < last:
            text = f"`{finds[others[0]]}` stands before `{finds[last]}`; safety comes first"
            yield Fault(("reasons", others[0]), "safety-first", text)
