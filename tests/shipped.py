"""Who plans by the shipped book, as the commands hold them: made once a process for each day and engine."""

import datetime as dt

from assistant.clients.book import planner
from assistant.plan import EngineChoice, Planner


def planner_on(on: dt.date, engine: EngineChoice | None = None) -> Planner:
    """Return the commands' own planner for a day."""
    return planner(None, None, on, engine)
