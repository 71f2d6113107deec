"""The block, the easier week, a missed day, the next block.

Days and exercises unchanged in an easier week, sets and effort lower:
survey of Rogerson et al. 2024, doi 10.1186/s40798-024-00691-y. The rest is common practice.
"""

from __future__ import annotations

import dataclasses

import pytest

from assistant.programme.block import anchor_lifts, next_block
from assistant.programme.progression import (
    block_weeks,
    missed_session,
)
from programme.checker import swap_faults
from programme.documents import catalogue
from programme.weeks import harrow_lane_request, harrow_lane_week


def test_a_block_keeps_days_and_exercises_and_ends_easier() -> None:
    programme = harrow_lane_week()
    weeks = block_weeks(programme, 5, catalogue(), easier_last=True)
    assert [week.kind for week in weeks] == ["build"] * 4 + ["easier"]
    plain = [[line.exercise for line in session.lines] for session in programme.sessions]
    for week in weeks:
        assert [[line.exercise for line in s.lines] for s in week.sessions] == plain
    first, last = weeks[0].sessions[0].lines[0], weeks[3].sessions[0].lines[0]
    assert first.rir == last.rir + 1
    full = sum(line.sets for s in programme.sessions for line in s.lines)
    easy = [line for s in weeks[4].sessions for line in s.lines]
    assert 0.5 <= sum(line.sets for line in easy) / full <= 0.7
    assert all(line.rir >= 4 for line in easy)
    assert all(
        after.minutes < before.minutes
        for after, before in zip(weeks[4].sessions, programme.sessions, strict=True)
    )


def test_a_block_of_one_week_is_refused() -> None:
    with pytest.raises(ValueError, match="weeks: 1 is outside 3 to 6"):
        block_weeks(harrow_lane_week(), 1, catalogue(), easier_last=False)


def test_a_missed_day_without_a_spare_day_saves_priority_work_within_the_clock() -> None:
    missed = missed_session(harrow_lane_request(), harrow_lane_week(), "thu", catalogue())
    assert missed.moved_to is None
    assert [session.day for session in missed.sessions] == ["mon", "tue", "fri", "sat"]
    assert all(session.minutes <= session.minutes_allowed for session in missed.sessions)
    monday = next(s for s in harrow_lane_week().sessions if s.day == "mon")
    assert missed.sessions[0] == monday


def test_a_missed_day_moves_to_a_free_day_with_room_around_it() -> None:
    asked = dataclasses.replace(
        harrow_lane_request(), available_days=("mon", "tue", "wed", "thu", "fri", "sat")
    )
    missed = missed_session(asked, harrow_lane_week(), "tue", catalogue())
    assert missed.moved_to == "wed"
    assert [session.day for session in missed.sessions] == ["mon", "wed", "thu", "fri", "sat"]


def test_a_missed_day_that_was_no_training_day_is_named() -> None:
    with pytest.raises(ValueError, match="missed: `sun` is no training day; allowed: mon, tue"):
        missed_session(harrow_lane_request(), harrow_lane_week(), "sun", catalogue())


def test_the_next_block_keeps_anchors_and_changes_a_few_helpers() -> None:
    asked, programme = harrow_lane_request(), harrow_lane_week()
    anchors = anchor_lifts(asked, programme, catalogue())
    assert anchors
    used = {line.exercise for s in programme.sessions for line in s.lines}
    after = next_block(asked, programme, dict.fromkeys(used, 5), catalogue())
    assert after.style == "light"
    assert after.kept_anchors == anchors
    assert 1 <= len(after.swaps) <= 3
    exercises = catalogue().exercises
    for swap in after.swaps:
        assert swap_faults(swap.old, swap.new) == []
        assert swap.old in used - set(anchors)
        assert swap.new not in used
        assert exercises[swap.old].pattern == exercises[swap.new].pattern
    assert after.request.previous_exercises >= set(anchors)


def test_what_stays_in_the_next_block_stays_on_its_days() -> None:
    asked, programme = harrow_lane_request(), harrow_lane_week()
    stood: dict[str, set[str]] = {}
    for session in programme.sessions:
        for line in session.lines:
            stood.setdefault(line.exercise, set()).add(session.day)
    after = next_block(asked, programme, dict.fromkeys(stood, 5), catalogue())
    comes = {swap.old: swap.new for swap in after.swaps}
    assert comes
    assert after.request.previous_days == {
        comes.get(name, name): frozenset(days) for name, days in stood.items()
    }


def test_a_helper_makes_room_only_for_what_is_loaded_as_finely() -> None:
    """A machine in a full gym is no place for a band: common practice, no source."""
    asked, programme = harrow_lane_request(), harrow_lane_week()
    exercises = catalogue().exercises
    machines = [
        line.exercise
        for session in programme.sessions
        for line in session.lines
        if "abduction" in line.exercise and exercises[line.exercise].loadability == 3
    ]
    assert machines, "the week holds an abduction on a machine or cable"
    # Trained longest, so it is the first to leave if anything may take its place.
    after = next_block(asked, programme, dict.fromkeys(machines, 9), catalogue())
    for swap in after.swaps:
        assert exercises[swap.new].loadability >= exercises[swap.old].loadability


def test_a_style_with_a_withheld_zone_is_skipped() -> None:
    asked = dataclasses.replace(
        harrow_lane_request(), block_style="light", limits=frozenset({"breath_holding"})
    )
    after = next_block(asked, harrow_lane_week(), {}, catalogue())
    assert after.style == "moderate"
