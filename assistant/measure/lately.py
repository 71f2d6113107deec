"""What counts for safety whatever has been agreed meanwhile: recent fast loss, weight now."""

import datetime as dt
from statistics import fmean

from assistant.measure.settings import Settings
from assistant.measure.trend import DAYS_PER_WEEK, weight_trend, whole_weeks
from assistant.model.history import History


def fastest_loss(history: History, on: dt.date, settings: Settings) -> float | None:
    """Return the lowest pace of weight (% a week) of the windows that ended lately; None without one.

    No agreement restarts these windows: a new target must not hide what the scale has shown. A fast
    loss stays in view for `safety_looks` weeks after it has ended.
    """
    weeks = int(settings.safety_weeks)
    first = min((row.day for row in history.weighings), default=on)
    paces = []
    for back in range(int(settings.safety_looks) + 1):
        last = on - dt.timedelta(days=back * DAYS_PER_WEEK)
        window = whole_weeks(first, last, weeks)
        if window is None or window.weeks < weeks:
            continue
        trend = weight_trend(history, window, settings)
        if trend is not None:
            paces.append(trend.rate_percent_per_week.value)
    return min(paces, default=None)


def weight_now(history: History, on: dt.date, settings: Settings) -> float | None:
    """Return the mean weight of the last days in kg; None with too few weighings."""
    since = on - dt.timedelta(days=int(settings.lately_days) - 1)
    weights = [row.weight_kg for row in history.weighings if since <= row.day <= on]
    return round(fmean(weights), 2) if len(weights) >= settings.lately_weighings else None
