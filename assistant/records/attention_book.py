"""The reasons of rules/attention.yaml with the values of their numbers in force on a day."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.documents.attention import Attention, ReasonRule
from assistant.model.knowledge import KnowledgeBase


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
