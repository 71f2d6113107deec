"""Weekly sets turned into sessions, and how fast sets may rise."""

import math

from assistant.calculate.checks import (
    require_not_negative,
    require_ordered,
    require_positive,
)

# Sets come in quarters; a sum of quarters must not tip over a whole number by rounding noise.
_COUNT_SLACK = 1e-9


def frequency(
    sets_per_week: float, cap_per_session: float, minimum: float, maximum: float
) -> float:
    """Return sessions a week for one muscle: as many as the session cap asks, held in a range."""
    require_not_negative("sets_per_week", sets_per_week)
    require_positive("cap_per_session", cap_per_session)
    require_ordered("minimum", minimum, "maximum", maximum)
    needed = math.ceil(sets_per_week / cap_per_session - _COUNT_SLACK)
    return float(min(max(needed, minimum), maximum))


def sets_that_fit(cap_per_session: float, sessions_per_week: float) -> float:
    """Return the weekly sets of one muscle that so many sessions hold under the session cap."""
    require_positive("cap_per_session", cap_per_session)
    require_not_negative("sessions_per_week", sessions_per_week)
    return cap_per_session * sessions_per_week


def next_week_ceiling(
    sets_now: float,
    sets_three_weeks_ago: float,
    step_sets: float,
    step_percent: float,
) -> float:
    """Return the most weekly sets a muscle may have next week.

    One step is the larger of ``step_sets`` and ``step_percent`` of the present sets; over any
    four weeks no more than two steps.
    """
    require_not_negative("sets_now", sets_now)
    require_not_negative("sets_three_weeks_ago", sets_three_weeks_ago)
    share = require_not_negative("step_percent", step_percent) / 100.0
    one_step = sets_now + max(step_sets, share * sets_now)
    two_steps = sets_three_weeks_ago + 2.0 * max(step_sets, share * sets_three_weeks_ago)
    # The ceiling limits rises only: it never orders a cut.
    return max(min(one_step, two_steps), sets_now)


def sessions_for_minutes(minutes_available: float, minutes_per_session: float) -> float:
    """Return how many whole sessions fit into a number of minutes."""
    require_not_negative("minutes_available", minutes_available)
    require_positive("minutes_per_session", minutes_per_session)
    return float(math.floor(minutes_available / minutes_per_session + _COUNT_SLACK))
