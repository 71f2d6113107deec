"""Weekly sets turned into sessions, and how fast sets may rise."""

import math

from assistant.calculate.calculator import (
    COMMON_PRACTICE,
    Percent,
    Ratio,
    SessionsPerWeek,
    Sets,
    SetsPerWeek,
    calculator,
)
from assistant.calculate.checks import (
    require_not_negative,
    require_ordered,
    require_positive,
)

# Sets come in quarters; a sum of quarters must not tip over a whole number by rounding noise.
_COUNT_SLACK = 1e-9


@calculator("dose.frequency", "{sessions}/wk", COMMON_PRACTICE)
def frequency(
    sets_per_week: SetsPerWeek,
    cap_per_session: Sets,
    minimum: SessionsPerWeek,
    maximum: SessionsPerWeek,
) -> float:
    """Return sessions a week for one muscle: as many as the session cap asks, held in a range."""
    require_not_negative("sets_per_week", sets_per_week)
    require_positive("cap_per_session", cap_per_session)
    require_ordered("minimum", minimum, "maximum", maximum)
    needed = math.ceil(sets_per_week / cap_per_session - _COUNT_SLACK)
    return float(min(max(needed, minimum), maximum))


@calculator("dose.sessions_that_fit", "{sessions}/wk", COMMON_PRACTICE)
def sessions_that_fit(wanted: SessionsPerWeek, most: SessionsPerWeek) -> float:
    """Return the sessions a week that are wanted, and never more than the week has days for."""
    require_not_negative("wanted", wanted)
    require_not_negative("most", most)
    return min(wanted, most)


@calculator("dose.sets_that_fit", "{sets}/wk")
def sets_that_fit(cap_per_session: Sets, sessions_per_week: SessionsPerWeek) -> float:
    """Return the weekly sets of one muscle that so many sessions hold under the session cap."""
    require_positive("cap_per_session", cap_per_session)
    require_not_negative("sessions_per_week", sessions_per_week)
    return cap_per_session * sessions_per_week


@calculator("dose.more_sets", "{sets}/wk", COMMON_PRACTICE)
def more_sets(usual: SetsPerWeek, steps: Ratio, step: SetsPerWeek, most: SetsPerWeek) -> float:
    """Return the usual weekly sets and so many agreed steps more, no more than the most."""
    require_not_negative("steps", steps)
    return min(usual + steps * step, max(most, usual))


@calculator("dose.fewer_sets", "{sets}/wk", COMMON_PRACTICE)
def fewer_sets(usual: SetsPerWeek, less_percent: Percent) -> float:
    """Return whole weekly sets after a share is taken out: one at the least, where there was one."""
    require_not_negative("usual", usual)
    left = math.floor(usual * (1 - less_percent / 100) + 0.5)
    return float(min(max(left, 1), usual))
