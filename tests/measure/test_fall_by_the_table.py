"""A fall of the lifts is called from the sets that are prescribed, by a table that is none of our formulas.

Published repetition-maximum table (textbook of the National Strength and Conditioning Association), share of
the maximum by repetitions to failure: 10 second-hand, 11 to 15 from memory, 13 and 14 between their neighbours.
The client lifts what the gym's plates allow and stops with two left, as the sheet says.
"""

import math

import pytest
from records import START, day

from assistant.measure.lifts import StrengthTrend, strength_trend
from assistant.measure.settings import Settings
from assistant.model.history import History, TopSet

SHARE = {10: 75.0, 11: 70.0, 12: 67.0, 13: 66.3, 14: 65.7, 15: 65.0}
PLATES_KG = 2.5
LEFT = 2
LIFTS = {"row": 90.0, "thrust": 160.0, "press": 80.0}


def _trained(weeks: int, percent_per_week: float) -> History:
    """Return two sessions a week at 9 to 12 repetitions with two left, by the table."""
    sets = []
    for session in range(2 * weeks):
        for lift, maximum in LIFTS.items():
            now = maximum * math.exp(percent_per_week / 100 * session / 2)
            aimed = now * SHARE[10 + LEFT] / 100
            load = math.floor(aimed / PLATES_KG) * PLATES_KG
            able = max(n for n, share in SHARE.items() if now * share / 100 >= load)
            sets.append(TopSet(day(7 * session // 2), lift, load, able - LEFT, LEFT))
    return History(top_sets=tuple(sets))


def _trend(weeks: int, percent_per_week: float, settings: Settings) -> StrengthTrend:
    history = _trained(weeks, percent_per_week)
    assert {row.repetitions for row in history.top_sets} <= set(range(8, 14))
    return strength_trend(history, START, day(7 * weeks), settings)


@pytest.mark.parametrize("percent", [-1.0, -1.5])
def test_a_fall_is_called_within_ten_weeks(settings: Settings, percent: float) -> None:
    rate = _trend(10, percent, settings).lately_percent_per_week
    assert rate is not None
    assert rate.high < 0
    assert rate.low <= percent <= rate.high


@pytest.mark.parametrize("percent", [0.0, 0.5])
def test_what_does_not_fall_is_not_called_falling(settings: Settings, percent: float) -> None:
    rate = _trend(10, percent, settings).lately_percent_per_week
    assert rate is not None
    assert rate.high > 0
    assert rate.low <= percent <= rate.high
