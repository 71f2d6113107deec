"""Kit in the pictures of exercises: bars, weights, benches, cables as simple shapes in space."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.model.documents.poses import Kit
from assistant.report.pictures.figure_body import Body, Vector, plus, turned
from assistant.report.pictures.figure_shapes import Camera, Paper, Spot, hull, round_spots

# Sizes in cm where the pose says none: common kit, rounded.
_SIZES = {"slab": 6.0, "bench": 7.0, "wall": 6.0, "ball": 32.5, "barbell": 20.0, "dumbbell": 5.5,
          "kettlebell": 9.0, "plate": 18.0, "roller": 5.0, "handle": 0.0}  # fmt: skip
_WIDTHS = {"slab": 40.0, "bench": 30.0, "wall": 60.0, "barbell": 150.0, "handle": 12.0,
           "roller": 34.0, "dumbbell": 18.0, "stick": 110.0}  # fmt: skip
_PLATE_FROM_END = 14.0
_BELL_UNDER_HAND = 15.0
_POST_OVER_PULLEY = 8.0
_FURNITURE = {"slab", "bench", "wall", "ball"}
_AXES: dict[str, Vector] = {"across": (0, 0, 1), "along": (1, 0, 0), "up": (0, 1, 0)}

_SOLID = 'fill="currentColor" fill-opacity=".16"'
_BOLD = 'stroke-width="3"'
_FINE = 'stroke-width="1.2"'
_BAND = 'stroke-width="2.6" stroke-dasharray="5 2.5"'


@dataclass(frozen=True)
class Drawn:
    """A piece on the paper. is_furniture: stands behind the body, whatever its depth."""

    svg: str
    depth: float
    is_furniture: bool = False


@dataclass(frozen=True)
class KitPen:
    """Draws kit as seen by a camera, on a paper, with a body in one position."""

    camera: Camera
    paper: Paper
    body: Body

    def draw(self, kit: Kit) -> Drawn:
        """Return one piece of kit, drawn."""
        points = [each for _, each in solid_points(kit, self.body)]
        depth = sum(map(self.camera.depth, points)) / len(points)
        svg = "".join(self._parts(kit))
        return Drawn(svg, depth + 1, kit.shape in _FURNITURE)

    def _parts(self, kit: Kit) -> Iterator[str]:
        runs: dict[int, list[Vector]] = {}
        for run, point in solid_points(kit, self.body):
            runs.setdefault(run, []).append(point)
        for points in runs.values():
            spots = [self.camera.seen(point) for point in points]
            if kit.shape in {"cable", "band", "lever", "stick", "handle"}:
                yield self._line(kit, points, spots)
            elif kit.shape == "ball":
                yield self.paper.circle(spots[0], _size(kit), _SOLID)
            elif kit.shape == "kettlebell":
                yield self.paper.line(spots[1], spots[0], _BOLD)
                yield self.paper.circle(spots[0], _size(kit), _SOLID)
            else:
                yield self.paper.outline(hull(spots), _SOLID)
        if kit.shape in {"barbell", "dumbbell"}:
            for a, b in _shafts(kit, self.body):
                yield self.paper.line(self.camera.seen(a), self.camera.seen(b), _BOLD)
        if kit.shape == "bench":
            for a, b in _legs(kit):
                yield self.paper.line(self.camera.seen(a), self.camera.seen(b), _BOLD)

    def _line(self, kit: Kit, points: list[Vector], spots: list[Spot]) -> str:
        if kit.shape == "cable":
            foot, high = map(self.camera.seen, _post(points[0]))
            post = self.paper.line(foot, high, _BOLD)
            wheel = self.paper.circle(spots[0], 4, _SOLID)
            return post + wheel + self.paper.line(spots[0], spots[1], _FINE)
        look = _BAND if kit.shape == "band" else _BOLD
        return self.paper.line(spots[0], spots[1], look)


def _legs(kit: Kit) -> Iterator[tuple[Vector, Vector]]:
    """The two pairs of legs of a bench, from under its top to the floor."""
    at, to = _top(kit)
    for share in (0.12, 0.88):
        x, y = (a + (b - a) * share for a, b in zip(at[:2], to[:2], strict=True))
        yield (x, y - _size(kit), at[2]), (x, 0, at[2])


def _post(pulley: Vector) -> list[Vector]:
    """What a pulley hangs on: from the floor to a little over it."""
    return [(pulley[0], 0.0, pulley[2]), plus(pulley, (0, _POST_OVER_PULLEY, 0))]


def solid_points(kit: Kit, body: Body) -> Iterator[tuple[int, Vector]]:
    """Yield the corners of a piece of kit in space, each with the number of the shape it belongs to."""
    if kit.shape in {"slab", "bench", "wall"}:
        yield from ((0, point) for point in _block(kit))
    elif kit.shape == "kettlebell":
        hand = _one(kit, body)
        yield 0, plus(hand, (0, -_BELL_UNDER_HAND, 0))
        yield 0, hand
    elif kit.shape in {"barbell", "dumbbell", "roller", "plate"}:
        for run, (middle, axis, thick) in enumerate(_rounds(kit, body)):
            yield from ((run, point) for point in _disc(middle, axis, _size(kit), thick))
    else:
        yield from _ends(kit, body)


def _rounds(kit: Kit, body: Body) -> Iterator[tuple[Vector, Vector, float]]:
    """The round pieces of a weight or a pad: middle, axis and thickness."""
    if kit.shape == "barbell":
        middle, out = _one(kit, body), _width(kit) / 2 - _PLATE_FROM_END
        yield from ((plus(middle, (0, 0, sign * out)), (0, 0, 1), 5.0) for sign in (-1, 1))
    elif kit.shape == "dumbbell":
        for a, b in _shafts(kit, body):
            yield from ((end, _direction(a, b), 6.0) for end in (a, b))
    elif kit.shape == "roller":
        wide = _width(kit) / (1 if kit.side == "both" else 2)
        yield _one(kit, body), (0, 0, 1), wide
    else:
        yield _one(kit, body), _AXES[kit.axis], 4.0


def spots_around(kit: Kit, body: Body, camera: Camera) -> Iterator[Spot]:
    """Yield spots that a drawing must have room for."""
    rounds = _size(kit) if kit.shape in {"ball", "kettlebell"} else 0.0
    points = [point for _, point in solid_points(kit, body)]
    if kit.shape == "bench":
        points += [each for leg in _legs(kit) for each in leg]
    elif kit.shape == "cable":
        points += _post(points[0])
    for point in points:
        yield from round_spots(camera.seen(point), rounds) if rounds else [camera.seen(point)]


def _size(kit: Kit) -> float:
    return kit.size if kit.size is not None else _SIZES.get(kit.shape, 0.0)


def _width(kit: Kit) -> float:
    return kit.width or _WIDTHS[kit.shape]


def place(at: str | tuple[float, ...], body: Body, side: str = "both") -> Vector:
    """Return where a place is: a part of the body, or a point given in cm."""
    if isinstance(at, str):
        return body.part(at, side)
    return _point(at)


def _point(at: tuple[float, ...]) -> Vector:
    x, y, z = (*at, 0.0)[:3]
    return x, y, z


def _one(kit: Kit, body: Body) -> Vector:
    return place(kit.at, body, kit.side)


def _sides(at: str | tuple[float, ...] | None, kit: Kit, body: Body) -> list[str]:
    """The sides that a piece is drawn on: one, or both where it is tied to a part that there is twice."""
    is_pair = isinstance(at, str) and body.is_pair(at)
    return ["right", "left"] if is_pair and kit.side == "both" else [kit.side]


def _ends(kit: Kit, body: Body) -> Iterator[tuple[int, Vector]]:
    """Both ends of a line: from place to place, between the hands, or along an axis."""
    if kit.shape == "ball":
        yield 0, _one(kit, body)
    elif kit.to is not None:
        sides = _sides(kit.to, kit, body) if kit.shape == "band" else [kit.side]
        for run, side in enumerate(sides):
            yield run, place(kit.at, body, side)
            yield run, place(kit.to, body, side)
    elif kit.shape == "band":
        yield 0, place(kit.at, body, "right")
        yield 0, place(kit.at, body, "left")
    else:
        wide = _width(kit) / 2
        hands = [place(kit.at, body, side) for side in _sides(kit.at, kit, body)]
        axis = _AXES[kit.axis]
        if len(hands) > 1 and kit.axis == "across":
            axis = _direction(hands[1], hands[0])
        yield 0, plus(hands[0], axis, wide)
        yield 0, plus(hands[-1], axis, -wide)


def _shafts(kit: Kit, body: Body) -> Iterator[tuple[Vector, Vector]]:
    half = _width(kit) / 2
    for side in [kit.side] if kit.shape == "barbell" else _sides(kit.at, kit, body):
        middle = place(kit.at, body, side)
        if kit.axis == "forearm":
            axis = turned(body.frames[f"forearm_{side}"], (1, 0, 0))
        else:
            axis = _AXES[kit.axis]
        yield plus(middle, axis, -half), plus(middle, axis, half)


def _top(kit: Kit) -> tuple[Vector, Vector]:
    """Both ends of the top of a slab, a bench or a wall."""
    assert isinstance(kit.at, tuple)
    assert isinstance(kit.to, tuple)
    return _point(kit.at), _point(kit.to)


def _block(kit: Kit) -> list[Vector]:
    at, to = _top(kit)
    along = (to[0] - at[0], to[1] - at[1])
    length = math.hypot(*along) or 1.0
    down = (along[1] / length * _size(kit), -along[0] / length * _size(kit))
    half = _width(kit) / 2
    return [
        (x + dx, y + dy, at[2] + z)
        for x, y in (at[:2], to[:2])
        for dx, dy in ((0.0, 0.0), down)
        for z in (-half, half)
    ]


def _disc(middle: Vector, axis: Vector, radius: float, thick: float) -> list[Vector]:
    """The rims of a round piece, so that its outline is right from every side."""
    helper = (0.0, 1.0, 0.0) if abs(axis[1]) < 0.9 else (1.0, 0.0, 0.0)  # noqa: PLR2004
    u = _unit(_cross(axis, helper))
    v = _cross(axis, u)
    rim = [(math.cos(a), math.sin(a)) for a in (2 * math.pi * each / 16 for each in range(16))]
    return [
        plus(plus(plus(middle, axis, side * thick / 2), u, radius * c), v, radius * s)
        for side in (-1, 1)
        for c, s in rim
    ]


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _unit(a: Vector) -> Vector:
    length = math.hypot(*a) or 1.0
    return (a[0] / length, a[1] / length, a[2] / length)


def _direction(a: Vector, b: Vector) -> Vector:
    return _unit(plus(b, a, -1))
