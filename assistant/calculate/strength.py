"""Estimated one-repetition maximum, percent of it, and loads a gym can put on the bar.

All formulas take repetitions to failure: repetitions done plus repetitions in reserve.
"""

import math

from assistant.calculate.checks import (
    require_between,
    require_not_negative,
    require_positive,
)
from assistant.calculate.estimate import Estimate

# Published accuracy falls beyond ten repetitions (Reynolds 2006, LeSuer 1997, from memory); the
# two limits themselves are judgement.
MEAN_UP_TO_REPS = 10.0
REFUSE_ABOVE_REPS = 15.0

# Quotients such as 0.3 / 0.1 fall a hair short of the whole number they stand for.
_STEP_SLACK = 1e-9


def epley(reps_to_failure: float) -> float:
    """Return one-repetition maximum over load; Epley 1985 (second-hand)."""
    return 1.0 + reps_to_failure / 30.0


def brzycki(reps_to_failure: float) -> float:
    """Return one-repetition maximum over load; Brzycki 1993 (second-hand)."""
    return 36.0 / (37.0 - reps_to_failure)


def wathan(reps_to_failure: float) -> float:
    """Return one-repetition maximum over load; Wathan 1994 (second-hand)."""
    return 100.0 / (48.8 + 53.8 * math.exp(-0.075 * reps_to_failure))


_TRUSTED = (epley, brzycki, wathan)


def reps_to_failure(reps: float, rir: float, up_to: float = REFUSE_ABOVE_REPS) -> float:
    """Return repetitions done plus repetitions in reserve, refused above a number.

    Raises ``ValueError`` for less than one repetition or more than `up_to` to failure: above 15 no
    formula is fit to choose a load by.
    """
    require_between("reps", reps, (1.0, up_to), "repetitions")
    require_not_negative("rir", rir)
    return require_between("reps + rir", reps + rir, (1.0, up_to), "repetitions to failure")


def e1rm(load_kg: float, reps: float, rir: float, up_to: float = REFUSE_ABOVE_REPS) -> Estimate:
    """Return the estimated one-repetition maximum in kg.

    Up to ten repetitions to failure the mean of Epley, Brzycki and Wathan; above that Epley
    alone, which is less sure. The ends are the lowest and highest of the three formulas, not
    standard errors. One repetition with none in reserve is the maximum itself. `up_to`: a trend
    may read longer sets than a load is chosen by, since most of the formula's error stays the same
    from one session to the next.
    """
    require_positive("load_kg", load_kg)
    to_failure = reps_to_failure(reps, rir, up_to)
    if to_failure == 1.0:
        return Estimate(load_kg, load_kg, load_kg)
    by_formula = [load_kg * formula(to_failure) for formula in _TRUSTED]
    low, high = min(by_formula), max(by_formula)
    if to_failure <= MEAN_UP_TO_REPS:
        mean = math.fsum(by_formula) / len(by_formula)
        return Estimate(min(max(mean, low), high), low, high)
    return Estimate(load_kg * epley(to_failure), low, high)


def percent_of_1rm(reps: float, rir: float) -> float:
    """Return the load for a set, in percent of the one-repetition maximum.

    The mean of what Epley, Brzycki and Wathan each ask; 100 for one repetition to failure.
    """
    to_failure = reps_to_failure(reps, rir)
    if to_failure == 1.0:
        return 100.0
    return 100.0 * math.fsum(1.0 / formula(to_failure) for formula in _TRUSTED) / len(_TRUSTED)


def round_down_to_step(load_kg: float, step_kg: float) -> float:
    """Return the greatest multiple of an equipment step that is not above the load (kg)."""
    require_not_negative("load_kg", load_kg)
    require_positive("step_kg", step_kg)
    return math.floor(load_kg / step_kg + _STEP_SLACK) * step_kg
