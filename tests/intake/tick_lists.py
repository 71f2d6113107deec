"""The shipped questions with their tick lists, for the tests of both."""

import datetime as dt
import functools

from assistant.clients.book import knowledge
from assistant.intake.form import Form, form_of
from assistant.model.knowledge import KnowledgeBase

AS_OF = dt.date(2026, 1, 12)


@functools.cache
def book() -> KnowledgeBase:
    return knowledge(None, None)


@functools.cache
def form() -> Form:
    return form_of(book(), AS_OF)
