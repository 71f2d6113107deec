"""The shipped questions with their tick lists, for the tests of both."""

import datetime as dt
import functools

from assistant.calculate.registry import CALCULATORS
from assistant.intake.form import Form, form_of
from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase

AS_OF = dt.date(2026, 1, 12)


@functools.cache
def book() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


@functools.cache
def form() -> Form:
    return form_of(book(), AS_OF)
