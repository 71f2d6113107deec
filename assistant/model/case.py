"""A case: one person's answers, the day, and (for tests) what a plan for them must say."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.model.values import Value


@dataclass(frozen=True)
class Case:
    """A checked case. `answers` holds one value for every answered fact id; the rest are unknown.

    name is personal: shown on the page, read by no rule.
    """

    name: str
    as_of: dt.date
    answers: Mapping[str, Value]
    expect: Mapping[str, Any] = field(default_factory=dict)
    expect_reasons: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
