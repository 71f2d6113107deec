"""Solved weeks that several tests look at, solved once."""

from __future__ import annotations

from functools import cache

from assistant.model.programme import Programme
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
