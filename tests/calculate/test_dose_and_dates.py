"""Session counts and dates."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import dose, phases


# Common practice, no source: 16 sets at 6 a session are 3 days, at 8 a session 2 days.
@pytest.mark.parametrize(
    ("sets", "cap", "sessions"), [(16, 6, 3), (16, 8, 2), (4, 8, 2), (40, 8, 4), (16.25, 8, 3)]
)
def test_frequency(sets: float, cap: float, sessions: float) -> None:
    assert dose.frequency(sets, cap, 2, 4) == sessions


@given(st.floats(0, 40), st.floats(1, 12))
def test_frequency_never_falls_as_sets_rise(sets: float, cap: float) -> None:
    assert dose.frequency(sets + 1, cap, 2, 4) >= dose.frequency(sets, cap, 2, 4)


# Calendar: 2024 was a leap year.
def test_weeks_between() -> None:
    assert phases.weeks_between(date(2024, 2, 1), date(2024, 3, 1)) == pytest.approx(29 / 7)
    assert phases.weeks_between(date(2026, 3, 1), date(2026, 2, 1)) == pytest.approx(-4)


# Calendar: 2026 is no leap year, so 28 February is followed by 1 March.
def test_add_weeks() -> None:
    assert phases.add_weeks(date(2026, 2, 22), 1.0) == date(2026, 3, 1)
    assert phases.add_weeks(date(2026, 2, 22), 0.5) == date(2026, 3, 1)
    assert phases.add_weeks(date(2026, 2, 22), 0.0) == date(2026, 2, 22)
    with pytest.raises(ValueError, match="weeks: -1"):
        phases.add_weeks(date(2026, 2, 22), -1.0)


# Arithmetic: the cap of a session, as often as there are sessions.
@pytest.mark.parametrize(
    ("cap", "sessions", "sets"), [(2, 3, 6), (4, 2, 8), (2, 1, 2), (2, 0, 0), (2.5, 2, 5)]
)
def test_sets_that_fit(cap: float, sessions: float, sets: float) -> None:
    assert dose.sets_that_fit(cap, sessions) == sets
    with pytest.raises(ValueError, match="cap_per_session"):
        dose.sets_that_fit(0, sessions)


# Arithmetic by hand: two steps of two sets on twelve, and a third out of twelve; no source.
@pytest.mark.parametrize(
    ("usual", "steps", "most", "sets"),
    [(12, 1, 16, 14), (12, 2, 15, 15), (12, 0, 16, 12), (12, 1, 10, 12)],
)
def test_more_sets(usual: float, steps: float, most: float, sets: float) -> None:
    assert dose.more_sets(usual, steps, 2, most) == sets


@pytest.mark.parametrize(
    ("usual", "percent", "sets"), [(12, 33, 8), (4, 33, 3), (1, 50, 1), (0.5, 50, 0.5), (0, 33, 0)]
)
def test_fewer_sets(usual: float, percent: float, sets: float) -> None:
    assert dose.fewer_sets(usual, percent) == sets


def test_sessions_wanted_never_fall_when_more_are_asked() -> None:
    """Counted out by hand: a wish beyond the days gives every day, never fewer than a smaller wish."""
    assert [dose.sessions_that_fit(wanted, 3) for wanted in (2, 3, 4, 5)] == [2, 3, 3, 3]
    with pytest.raises(ValueError, match="most"):
        dose.sessions_that_fit(2, -1)
