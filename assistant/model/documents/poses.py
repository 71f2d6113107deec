"""poses/: the positions of each exercise as joint angles, what the body rests on, and the kit."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field, Tag

from assistant.model.base import Document, Fault, told_apart
from assistant.model.documents.exercises import ExerciseName, OfAPattern
from assistant.model.documents.figures import View
from assistant.model.marks import Plain

Both = tuple[float, float]
# One number for both sides, or the right and the left side.
Angle = Annotated[
    Annotated[float, Tag("<number>")] | Annotated[Both, Tag("<list>")],
    told_apart("a number of degrees, or [right, left]"),
]
Point = Annotated[tuple[float, ...], Field(min_length=2, max_length=3)]
When = Literal["both", "start", "end"]
Side = Literal["both", "right", "left"]
Limb = Literal["torso", "upper_arms", "forearms", "thighs", "shanks", "feet"]
Part = Literal[
    "feet", "toes", "heels", "knees", "ankles", "shins", "thighs", "hips", "seat", "sacrum",
    "upper_back", "shoulders", "chest", "belly", "elbows", "palms", "hands", "head", "neck",
]  # fmt: skip
Shape = Literal[
    "slab", "bench", "wall", "ball", "barbell", "dumbbell", "kettlebell", "plate", "handle",
    "cable", "band", "roller", "lever", "stick",
]  # fmt: skip
Place = Annotated[
    Annotated[Part, Tag("<text>")] | Annotated[Point, Tag("<list>")],
    told_apart("a part of the body, or [x, y] or [x, y, z] in cm"),
]

_HALF = 0.5


class Position(Document):
    """One position: the lean of the whole body and its joints, in degrees (head of poses/squat.yaml)."""

    trunk: float = 0
    roll: float = 0
    hip: Angle = 0.0
    hip_out: Angle = 0.0
    hip_turn: Angle = 0.0
    knee: Angle = 0.0
    ankle: Angle = 0.0
    spine: float = 0
    spine_side: float = 0
    neck: float = 0
    shoulder: Angle = 0.0
    shoulder_out: Angle = 0.0
    shoulder_turn: Angle = 0.0
    elbow: Angle = 0.0
    wrist: Angle = 0.0

    def of(self, name: str) -> Both:
        """Return a joint's angle on the right and on the left."""
        value = getattr(self, name)
        return value if isinstance(value, tuple) else (value, value)

    def towards(self, other: "Position", share: float) -> "Position":
        """Return the position on the way to another; share 0 is this one, 1 the other."""
        mixed: dict[str, Both | float] = {}
        for name in type(self).model_fields:
            pairs = zip(self.of(name), other.of(name), strict=True)
            right, left = (a + (b - a) * share for a, b in pairs)
            mixed[name] = right if right == left else (right, left)
        return self.model_copy(update=mixed)


class Rest(Document):
    """A part of the body that stays on something: a place in cm, a height, or a named piece of kit.

    The first that holds in a position has a place: it says where the whole figure is.
    """

    part: Part
    side: Side = "both"
    at: tuple[float, float] | None = None
    height: float | None = None
    upon: str | None = None
    when: When = "both"


class Kit(Document):
    """A piece of kit as a simple shape, tied to a part of the body or to a place in cm.

    size: radius or thickness in cm; width: across the body; axis: which way a handle points. side `middle`: one piece
    held with both hands.
    """

    shape: Shape
    at: Place
    to: Place | None = None
    side: Side | Literal["middle"] = "both"
    name: str | None = None
    size: float | None = None
    width: float | None = None
    axis: Literal["across", "along", "up", "forearm"] = "across"
    when: When = "both"


class Pose(Document):
    """How one exercise is drawn. like: an entry of the same file that gives what is not said here.

    end: None for a hold. through: a position half-way that the straight way misses. path: the part whose way is drawn as an arrow. moving: limbs that are marked.
    balanced: a free load that stays over the foot.
    """

    id: ExerciseName
    like: ExerciseName | None = None
    view: View | None = None
    start: Position | None = None
    through: Position | None = None
    end: Position | None = None
    rests: tuple[Rest, ...] | None = None
    moving: tuple[Limb, ...] | None = None
    side: Side | None = None
    path: Part | None = None
    balanced: bool | None = None
    kit: tuple[Kit, ...] | None = None

    def on_the_way(self, share: float) -> Position:
        """Return the position after a share of the movement; of a hold, the one there is."""
        assert self.start is not None
        if self.end is None:
            return self.start
        if self.through is None:
            return self.start.towards(self.end, share)
        if share <= _HALF:
            return self.start.towards(self.through, share / _HALF)
        return self.through.towards(self.end, share / _HALF - 1)


class PoseFile(OfAPattern):
    """The poses of one movement pattern, and why an exercise has none."""

    poses: tuple[Pose, ...] = ()
    not_drawn: dict[ExerciseName, Plain] = {}

    @property
    def whole(self) -> Mapping[str, Pose]:
        """The poses by exercise, with what each takes from the one it is like."""
        own = {pose.id: pose for pose in self.poses}
        return {name: _filled(pose, own) for name, pose in own.items()}

    @property
    def named(self) -> list[tuple[tuple[str | int, ...], str]]:
        """The exercises that stand here, drawn or not, each with its path."""
        names: list[tuple[tuple[str | int, ...], str]] = [
            (("poses", number, "id"), pose.id) for number, pose in enumerate(self.poses)
        ]
        return [*names, *((("not_drawn", name), name) for name in self.not_drawn)]

    def faults(self) -> Iterator[Fault]:
        """Yield entries that stand twice, and ones that leave out what a picture needs."""
        yield from super().faults()
        own = {pose.id: pose for pose in self.poses}
        for number, pose in enumerate(self.poses):
            path = ("poses", number)
            other = own.get(pose.like or "")
            if pose.like is not None and (other is None or other.like is not None):
                text = f"`{pose.like}` is no entry of this file that stands by itself"
                yield Fault((*path, "like"), "unknown-name", text)
                continue
            whole = _filled(pose, own)
            for field in ("view", "start", "rests"):
                if not getattr(whole, field):
                    yield Fault(path, "missing-field", f"`{field}` is needed")
            if whole.end is not None and not (whole.moving and whole.path):
                yield Fault(path, "missing-field", "`moving` and `path` are needed with `end`")
            yield from _without_place(path, whole)
            yield from _not_drawable(path, pose)


def _filled(pose: Pose, own: Mapping[str, Pose]) -> Pose:
    base = own.get(pose.like or "")
    if base is None:
        return pose
    given = {name: getattr(pose, name) for name in pose.model_fields_set}
    return base.model_copy(update=given)


def _without_place(path: tuple[str | int, ...], pose: Pose) -> Iterator[Fault]:
    names = {piece.name for piece in pose.kit or () if piece.name}
    for when in ("start", "end"):
        first = next((r for r in pose.rests or () if r.when in {"both", when}), None)
        if first is None or first.at is None:
            text = f"the first of `rests` at the {when} needs `at`, so that the figure has a place"
            yield Fault((*path, "rests"), "missing-field", text)
    for number, rest in enumerate(pose.rests or ()):
        if rest.upon is not None and rest.upon not in names:
            text = f"`{rest.upon}` is the name of no kit here; kit with a name: {', '.join(sorted(names)) or 'none'}"
            yield Fault((*path, "rests", number, "upon"), "unknown-name", text)


def _not_drawable(path: tuple[str | int, ...], pose: Pose) -> Iterator[Fault]:
    """Pieces of kit that do not say where they end, or which way they point."""
    for number, kit in enumerate(pose.kit or ()):
        at = (*path, "kit", number)
        is_between = isinstance(kit.at, tuple) and isinstance(kit.to, tuple)
        if kit.shape in {"slab", "bench", "wall"} and not is_between:
            text = f"a {kit.shape} needs `at` and `to` in cm, the two ends of its top"
            yield Fault(at, "missing-field", text)
        elif kit.shape in {"cable", "lever"} and kit.to is None:
            yield Fault(at, "missing-field", f"a {kit.shape} needs `to`, where it ends")
        is_in_hand = kit.at in {"hands", "palms"} and kit.side != "middle"
        if kit.axis == "forearm" and not (kit.shape == "dumbbell" and is_in_hand):
            text = "`forearm` is for a dumbbell in one hand; allowed here: across, along, up"
            yield Fault((*at, "axis"), "bad-value", text)
