"""What was measured lately, as answers: the mean weight of a week, the last girth of a site."""

import datetime as dt
from statistics import fmean

from assistant.intake.checkin.book import CheckinBook
from assistant.model.history import History

# Sites of the record whose girth the intake asks for, too.
_ASKED_SITES = ("waist", "hip", "neck", "shoulder", "thigh")


def lately_measured(history: History, book: CheckinBook, on: dt.date) -> dict[str, float]:
    """Return the answers that what was measured up to a day may take the place of, in kg and cm."""
    numbers = book.numbers
    since = on - dt.timedelta(days=int(numbers["weight_days"]) - 1)
    weights = [row.weight_kg for row in history.weighings if since <= row.day <= on]
    measured: dict[str, float] = {}
    if len(weights) >= numbers["least_weighings"]:
        measured["client.weight_kg"] = round(fmean(weights), 2)
    since = on - dt.timedelta(days=int(numbers["girth_days"]) - 1)
    for girth in history.girths:  # in order of days: the last one stands
        if girth.site in _ASKED_SITES and since <= girth.day <= on:
            measured[f"client.{girth.site}_cm"] = girth.girth_cm
    return measured
