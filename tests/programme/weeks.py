"""Solved weeks that several tests look at, solved once."""

from __future__ import annotations

from functools import cache

from assistant.model.kept import KeptWeek, read_kept
from assistant.model.programme import Programme
from assistant.programme.kept import as_kept
from assistant.programme.request import ProgrammeRequest, TopSet
from assistant.programme.week import plan_week
from programme.clients import request
from programme.documents import catalogue

FIVE_DAYS = {"mon": "full", "tue": "short", "thu": "full", "fri": "short", "sat": "full"}


def harrow_lane_request(**more: object) -> ProgrammeRequest:
    """The client of the hand-made week: intermediate, gym, 3 x 60 and 2 x 25 minutes."""
    return request("mon tue thu fri sat", 60, day_types=FIVE_DAYS, scale=1.0, **more)


@cache
def harrow_lane_week() -> Programme:
    known = {
        "thrust_barbell": TopSet(60.0, 8, 2),
        "thrust_machine": TopSet(60.0, 8, 2),
        "pulldown_neutral": TopSet(35.0, 10, 1),
        "pulldown_wide": TopSet(35.0, 10, 1),
    }
    return plan_week(harrow_lane_request(known_top_sets=known), catalogue())


WRITTEN = {
    "mon": [["pulldown_wide", 3], ["split_squat_smith", 4], ["lateral_raise_cable", 4],
            ["calf_raise_standing", 3], ["abduction_machine", 3], ["crunch_cable", 2]],
    "tue": [["straight_arm_pulldown", 3], ["lateral_raise_machine", 3]],
    "thu": [["rdl_dumbbell", 4], ["row_seated_neutral", 4], ["press_bench_barbell", 4],
            ["lateral_raise_machine", 4], ["abduction_machine", 2], ["carry_suitcase", 2]],
    "fri": [["back_extension_45_hip", 4], ["straight_arm_pulldown", 2], ["lateral_raise_cable", 4]],
    "sat": [["thrust_machine", 3], ["pulldown_neutral", 4], ["press_bench_barbell", 4],
            ["calf_raise_standing", 3], ["leg_extension", 3], ["face_pull_cable", 2],
            ["crunch_cable", 2]],
}  # fmt: skip


@cache
def written_kept() -> KeptWeek:
    """A week of the Harrow Lane client as somebody wrote it, whatever a solve would choose today."""
    return read_kept({"style": "moderate", "days": WRITTEN})


@cache
def written_week() -> Programme:
    programme = as_kept(written_kept(), harrow_lane_request(), catalogue())
    assert isinstance(programme, Programme)
    return programme


FOUR_DAYS = {"mon": "lower", "tue": "upper", "thu": "full", "sat": "priority"}


def four_day_request(**more: object) -> ProgrammeRequest:
    """Halves, a whole-body day and a day for the aims; glutes lead."""
    aims = ("glute_max", "glute_med_min", "hamstrings", "lats", "side_delts")
    return request("mon tue thu sat", 60, day_types=FOUR_DAYS, aims=aims, scale=0.8, **more)


@cache
def four_day_week() -> Programme:
    return plan_week(four_day_request(), catalogue(), try_remedies=False)


def home_request() -> ProgrammeRequest:
    """Dumbbells and bands at home, a sore knee: hinges carry the week."""
    return request(
        "tue thu sat",
        45,
        kit=("dumbbells_home",),
        aims=("glute_max", "glute_med_min"),
        sore_joints=frozenset({"knee"}),
    )


@cache
def home_week() -> Programme:
    return plan_week(home_request(), catalogue(), try_remedies=False)


@cache
def two_evenings_week() -> Programme:
    """Two evenings of 45 minutes, the least the public guidance asks for."""
    return plan_week(request("tue fri", 45, aims=()), catalogue(), try_remedies=False)
