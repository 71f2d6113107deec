"""Session counts and dates."""

from datetime import date, timedelta
from itertools import pairwise

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


# Arithmetic: the cap of a session, as often as there are sessions.
@pytest.mark.parametrize(
    ("cap", "sessions", "sets"), [(2, 3, 6), (4, 2, 8), (2, 1, 2), (2, 0, 0), (2.5, 2, 5)]
)
def test_sets_that_fit(cap: float, sessions: float, sets: float) -> None:
    assert dose.sets_that_fit(cap, sessions) == sets
    with pytest.raises(ValueError, match="cap_per_session"):
        dose.sets_that_fit(0, sessions)


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


LENGTHS = phases.PhaseLengths(cut_weeks=8, maintain_weeks=3, least_cut_weeks=4, least_gain_weeks=6)


def test_phases_end_on_the_target_date() -> None:
    layout = phases.lay_back(date(2026, 1, 5), date(2026, 7, 6), LENGTHS)
    assert [(span.name, span.start, span.end) for span in layout.phases] == [
        ("gain", date(2026, 1, 5), date(2026, 4, 20)),
        ("maintain", date(2026, 4, 20), date(2026, 5, 11)),
        ("cut", date(2026, 5, 11), date(2026, 7, 6)),
    ]
    assert layout.missing_weeks == 0


@pytest.mark.parametrize(
    ("weeks", "names", "missing"),
    [
        (14, ["maintain", "cut"], 0),
        (10, ["maintain", "cut"], 1),
        (8, ["cut"], 3),
        (5, ["cut"], 6),
        (3, ["maintain"], 8),
    ],
)
def test_too_little_time_gives_way_in_order(weeks: int, names: list[str], missing: int) -> None:
    start = date(2026, 1, 5)
    layout = phases.lay_back(start, start + timedelta(weeks=weeks), LENGTHS)
    assert [span.name for span in layout.phases] == names
    assert layout.missing_weeks == missing


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)), st.integers(1, 500))
def test_phases_join_without_gap(start: date, days: int) -> None:
    target = start + timedelta(days=days)
    spans = phases.lay_back(start, target, LENGTHS).phases
    assert spans[0].start == start
    assert spans[-1].end == target
    assert all(earlier.end == later.start for earlier, later in pairwise(spans))


def test_dates_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(ValueError, match="days from start to target_date: -1 is not allowed"):
        phases.lay_back(date(2026, 1, 2), date(2026, 1, 1), LENGTHS)
    with pytest.raises(ValueError, match=r"least_cut_weeks: 9 .* no more than cut_weeks"):
        phases.PhaseLengths(8, 3, 9, 6)
