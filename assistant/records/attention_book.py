"""`rules/attention.yaml` in shape: the reasons in order, with the numbers they read."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.shapes import reshape
from assistant.model.base import Document
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase

FILE = "rules/attention.yaml"
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
_NUMBERS: Mapping[str, tuple[str, ...]] = {
    "strong_pain": ("at_least", "days"),
    "pain": ("at_least", "days"),
    "fast_loss": ("limit",),
    "fast_gain": ("limit",),
    "low_mood": ("at_most", "days"),
    "missed_sessions": ("percent", "planned", "weeks"),
    "short_sleep": ("under", "days"),
    "silent": ("days",),
    "review_due": ("ahead",),
}


class ReasonRule(Document):
    """One reason: what is looked for, the parameters it reads, and the sentence.

    say_held: where the screen holds back what the sentence would show. say_kept: where only the
    plan kept last tells.
    """

    finds: Finds
    numbers: dict[str, str] = {}
    say: str
    say_held: str | None = None
    say_kept: str | None = None


class AttentionDocument(Document):
    """The whole file."""

    schema_version: Literal[1]
    reasons: tuple[ReasonRule, ...]
    quiet: str


@dataclass(frozen=True)
class AttentionBook:
    """The reasons with the values of their numbers in force on a day."""

    document: AttentionDocument
    values: Mapping[str, float]

    @property
    def reasons(self) -> tuple[ReasonRule, ...]:
        """The reasons, the most urgent first."""
        return self.document.reasons

    def numbers(self, rule: ReasonRule) -> Mapping[str, float]:
        """Return the numbers of a reason by the names it gives them."""
        return {name: self.values[parameter] for name, parameter in rule.numbers.items()}


def attention_book(knowledge: KnowledgeBase, on: dt.date) -> AttentionBook:
    """Return the reasons for a day. Raises InputProblems for a file that is missing or wrong."""
    raw = knowledge.documents.get("attention")
    if raw is None:
        text = "the rule book has no attention.yaml; copy it from the shipped rules"
        raise InputProblems([Problem(FILE, "missing-file", text)])
    made = reshape(AttentionDocument, raw, lambda path: f"{FILE}:{'.'.join(map(str, path))}")
    if isinstance(made, list):
        raise InputProblems(made)
    problems = [*_order(made), *_missing_numbers(made, knowledge)]
    if problems:
        raise InputProblems(problems)
    used = {parameter for rule in made.reasons for parameter in rule.numbers.values()}
    values = {name: knowledge.parameter_value(name, on).value for name in used}
    return AttentionBook(made, values)


def _order(document: AttentionDocument) -> list[Problem]:
    finds = [rule.finds for rule in document.reasons]
    problems = [
        Problem(f"{FILE}:reasons", "repeated-reason", f"`{name}` stands twice; leave one")
        for name in dict.fromkeys(finds)
        if finds.count(name) > 1
    ]
    missing = [name for name in SAFETY if name not in finds]
    problems += [
        Problem(f"{FILE}:reasons", "missing-reason", f"`{name}` is about safety; put it back")
        for name in missing
    ]
    others = [index for index, name in enumerate(finds) if name not in SAFETY]
    last_safety = max((i for i, name in enumerate(finds) if name in SAFETY), default=-1)
    if others and others[0] < last_safety:
        text = f"`{finds[others[0]]}` stands before `{finds[last_safety]}`; safety comes first"
        problems.append(Problem(f"{FILE}:reasons", "safety-first", text))
    return problems


def _missing_numbers(document: AttentionDocument, knowledge: KnowledgeBase) -> list[Problem]:
    problems = []
    for rule in document.reasons:
        place = f"{FILE}:reasons.{rule.finds}"
        wanted = set(_NUMBERS.get(rule.finds, ()))
        if wanted != set(rule.numbers):
            text = f"`numbers` must name {', '.join(sorted(wanted)) or 'nothing'}"
            problems.append(Problem(place, "bad-value", text))
        for parameter in rule.numbers.values():
            if parameter not in knowledge.parameters:
                hint = did_you_mean(parameter, knowledge.parameters)
                text = f"`{parameter}` is no parameter{hint}"
                problems.append(Problem(place, "unknown-parameter", text))
    return problems
