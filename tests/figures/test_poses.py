"""Every drawn position is one a body can take: bones, joints, what it rests on, where the load is.

Lengths: Drillis and Contini 1966 as printed by Winter, second hand (rules/sources/figures.yaml).
That a free load stays over the foot is common practice, no source.
"""

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

import pytest

from assistant.clients.book import knowledge
from assistant.model.documents.poses import Kit, Pose, Position, Rest
from assistant.model.knowledge import KnowledgeBase
from assistant.report.pictures.figure_body import Body, body
from assistant.report.pictures.figure_kit import place, solid_points

CLOSE_CM = 1.0
VISIBLE_DEGREES = 15.0
HELD = {"barbell", "dumbbell", "kettlebell", "plate"}
# From joint to joint, as shares of stature; see the head of this file.
BONES = {
    ("hip", "knee"): 0.245,
    ("knee", "ankle"): 0.246,
    ("shoulder", "elbow"): 0.186,
    ("elbow", "wrist"): 0.146,
}
LIMBS = {
    "thighs": ("hip", "knee"),
    "shanks": ("knee", "ankle"),
    "upper_arms": ("shoulder", "elbow"),
    "forearms": ("elbow", "wrist"),
    "feet": ("heels", "toes"),
}


@lru_cache(maxsize=1)
def book() -> KnowledgeBase:
    return knowledge(None, None)


class State(NamedTuple):
    pose: Pose
    when: str
    position: Position

    def at(self) -> Body:
        return body(self.position, book().figures, self.pose.rests or (), self.when)


def poses() -> dict[str, Pose]:
    found = {row.id: book().pose_of(row.id) for row in book().exercises.exercises}
    return {name: pose for name, pose in found.items() if pose is not None}


def states(pose: Pose) -> Iterator[State]:
    for when, position in (("start", pose.start), ("end", pose.end)):
        if position is not None:
            yield State(pose, when, position)


EVERY = pytest.mark.parametrize("name", poses())


def test_most_exercises_are_drawn_and_the_rest_say_why() -> None:
    drawn = poses()
    told = {n: why for file in book().poses.values() for n, why in file.not_drawn.items()}
    assert {row.id for row in book().exercises.exercises} == drawn.keys() | told.keys()
    assert not drawn.keys() & told.keys()
    assert len(drawn) >= LEAST_DRAWN


# So many are drawn; it may only rise.
LEAST_DRAWN = 137


@EVERY
def test_bones_keep_their_lengths(name: str) -> None:
    for state in states(poses()[name]):
        at = state.at()
        for side in ("right", "left"):
            for (a, b), share in BONES.items():
                length = math.dist(at.points[f"{a}_{side}"], at.points[f"{b}_{side}"])
                assert length == pytest.approx(share * book().figures.stature_cm, abs=0.01)
        if not state.position.spine and not state.position.spine_side:
            trunk = math.dist(at.points["hips"], at.points["shoulders"])
            assert trunk == pytest.approx(0.288 * book().figures.stature_cm, abs=0.01)


@EVERY
def test_the_body_lies_where_the_pose_says(name: str) -> None:
    pose = poses()[name]
    for state in states(pose):
        at = state.at()
        for rest in pose.rests or ():
            if rest.when in {"both", state.when}:
                for side in _sides(rest, at):
                    off = _off(rest, at.part(rest.part, side), pose)
                    assert off <= CLOSE_CM, (state.when, rest.part, side, round(off, 1))


def _sides(rest: Rest, at: Body) -> tuple[str, ...]:
    is_pair = f"{rest.part}_right" in at.points and rest.part not in at.points
    return ("right", "left") if rest.side == "both" and is_pair else (rest.side,)


def _off(rest: Rest, skin: tuple[float, ...], pose: Pose) -> float:
    """How far (cm) a part is from where it rests."""
    if rest.at is not None:
        return abs(skin[1] - rest.at[1])
    if rest.height is not None:
        return abs(skin[1] - rest.height)
    slab = next(kit for kit in pose.kit or () if kit.name == rest.upon)
    assert not isinstance(slab.at, str)
    assert isinstance(slab.to, tuple)
    (x, y), (dx, dy) = slab.at[:2], (slab.to[0] - slab.at[0], slab.to[1] - slab.at[1])
    length = math.hypot(dx, dy)
    along = ((skin[0] - x) * dx + (skin[1] - y) * dy) / length
    beside = max(-along, along - length, 0.0)
    return max(abs((skin[0] - x) * dy - (skin[1] - y) * dx) / length, beside - CLOSE_CM)


@EVERY
def test_nothing_goes_through_the_floor(name: str) -> None:
    for state in states(poses()[name]):
        at = state.at()
        skin = [p for n, p in at.points.items() if n.partition("_")[0] in SKIN]
        assert min(point[1] for point in skin) >= -CLOSE_CM
        for kit in state.pose.kit or ():
            if kit.when in {"both", state.when} and kit.shape in {"barbell", "dumbbell"}:
                lowest = min(point[1] for _, point in solid_points(kit, at))
                assert lowest >= -CLOSE_CM, kit.shape


SKIN = {"feet", "heels", "toes", "knees", "elbows", "palms", "seat", "sacrum", "belly", "chest"}


@EVERY
def test_what_is_marked_moves_and_can_be_seen_to(name: str) -> None:
    pose = poses()[name]
    if pose.end is None:
        assert not pose.moving
        return
    start, end = (state.at() for state in states(pose))
    for limb in pose.moving or ():
        sides = ["right", "left"] if pose.side in {None, "both"} else [pose.side]
        for side in sides:
            turned = math.degrees(_turn(limb, str(side), start, end))
            assert turned >= VISIBLE_DEGREES, (limb, side, round(turned))


def _turn(limb: str, side: str, start: Body, end: Body) -> float:
    """The angle between a limb's directions, or where it only turns about itself, of what hangs on it."""
    if limb == "torso":
        ways = [_way(at.points["hips"], at.points["shoulders"]) for at in (start, end)]
    else:
        a, b = LIMBS[limb]
        ways = [_way(at.points[f"{a}_{side}"], at.points[f"{b}_{side}"]) for at in (start, end)]
    return math.acos(max(-1.0, min(1.0, sum(x * y for x, y in zip(*ways, strict=True)))))


def _way(a: tuple[float, ...], b: tuple[float, ...]) -> list[float]:
    length = math.dist(a, b)
    return [(y - x) / length for x, y in zip(a, b, strict=True)]


@EVERY
def test_a_free_load_stays_over_the_foot(name: str) -> None:
    pose = poses()[name]
    if not pose.balanced:
        return
    for share in (0.0, 0.5, 1.0):
        when = "end" if share == 1 else "start"
        at = body(pose.on_the_way(share), book().figures, pose.rests or (), when)
        feet = [at.points[f"{n}_{s}"][0] for n in ("heels", "toes") for s in ("right", "left")]
        loads = [kit for kit in pose.kit or () if kit.shape in HELD and isinstance(kit.at, str)]
        assert loads, "balanced, but nothing is held"
        x = sum(_middle(kit, at) for kit in loads) / len(loads)
        assert min(feet) <= x <= max(feet), (share, round(x, 1))


def _middle(kit: Kit, at: Body) -> float:
    return place(kit.at, at, kit.side)[0]


def test_free_standing_lifts_say_that_they_are_balanced() -> None:
    free = {"barbell", "dumbbell", "kettlebell", "hex_bar"}
    for row in book().exercises.exercises:
        pose = book().pose_of(row.id)
        kit = {*row.equipment, *(piece for each in row.equipment_any for piece in each)}
        if pose and pose.end and row.pattern in {"squat", "hinge"} and kit & free:
            assert pose.balanced, row.id


@EVERY
def test_a_bar_is_held_level_by_both_hands(name: str) -> None:
    pose = poses()[name]
    for kit in pose.kit or ():
        if kit.shape == "barbell" and kit.at == "hands":
            for state in states(pose):
                at = state.at()
                right, left = at.points["hands_right"], at.points["hands_left"]
                assert math.dist(right[:2], left[:2]) <= CLOSE_CM


# A shape that shows a piece of kit; a landmine's bar is seen as the lever it is.
SHOWN_BY = {
    "barbell": {"barbell", "lever"}, "dumbbell": {"dumbbell"}, "kettlebell": {"kettlebell"},
    "cable": {"cable"}, "band": {"band"}, "stability_ball": {"ball"}, "bench": {"bench", "slab"},
    "step_or_box": {"slab"}, "smith_machine": {"barbell"}, "hex_bar": {"barbell"},
    "ab_wheel": {"plate"}, "slider": {"slab"},
}  # fmt: skip
SHOWS = {
    "barbell": {"barbell", "smith_machine", "hex_bar"},
    "dumbbell": {"dumbbell", "kettlebell"},
    "kettlebell": {"kettlebell", "dumbbell"},
    "cable": {"cable", "lat_pulldown_machine", "seated_cable_row_station"},
    "band": {"band"},
    "ball": {"stability_ball"},
}


@EVERY
def test_the_kit_of_the_exercise_is_drawn_and_no_other(name: str) -> None:
    row, pose = book().exercises.by_id[name], poses()[name]
    shapes = {str(kit.shape) for kit in pose.kit or ()}
    for piece in row.equipment:
        assert piece not in SHOWN_BY or SHOWN_BY[piece] & shapes, piece
    for choice in row.equipment_any:
        assert any(piece not in SHOWN_BY or SHOWN_BY[piece] & shapes for piece in choice)
    owned = {*row.equipment, *(piece for choice in row.equipment_any for piece in choice)}
    for shape, pieces in SHOWS.items():
        assert shape not in shapes or pieces & owned, shape
