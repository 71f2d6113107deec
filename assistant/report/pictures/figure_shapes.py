"""Shapes of the drawn figure on the page: what is seen of points in space, limbs, and outlines.

Looks are presentation attributes, never style attributes: a page under a strict content policy
may hold them.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from assistant.report.pictures.figure_body import Vector
from assistant.report.pictures.svg import number

Spot = tuple[float, float]
# Where one stands, as degrees round from the right side towards the front, and how far above.
_VIEWS: dict[str, tuple[float, float]] = {
    "side": (0, 0),
    "front": (90, 0),
    "back": (-90, 0),
    "angle": (48, 14),
    "angle_back": (-42, 14),
}
_CORNERS = 14


@dataclass(frozen=True)
class Camera:
    """How space becomes the page: x to the right, y up, depth towards the viewer."""

    view: str

    @cached_property
    def _axes(self) -> tuple[Vector, Vector, Vector]:
        round_by, above = (math.radians(each) for each in _VIEWS[self.view])
        s, c = math.sin(round_by), math.cos(round_by)
        u, v = math.sin(above), math.cos(above)
        return (c, 0.0, -s), (-s * u, v, -c * u), (s * v, u, c * v)

    def seen(self, point: Vector) -> Spot:
        """Return where a point is on the page, in cm."""
        right, up, _ = self._axes
        return _dot(right, point), _dot(up, point)

    def depth(self, point: Vector) -> float:
        """Return how near a point is; more is nearer."""
        return _dot(self._axes[2], point)

    @property
    def is_level(self) -> bool:
        """Whether the floor is seen as a line."""
        return _VIEWS[self.view][1] == 0


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def round_spots(centre: Spot, radius: float) -> list[Spot]:
    """Return the corners of a circle, for outlines around it."""
    steps = [2 * math.pi * each / _CORNERS for each in range(_CORNERS)]
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in steps]


def hull(spots: list[Spot]) -> list[Spot]:
    """Return the outline around spots, by the monotone chain."""
    ordered = sorted(set(spots))
    chains: list[list[Spot]] = []
    for run in (ordered, ordered[::-1]):
        chain: list[Spot] = []
        for spot in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], spot) <= 0:
                chain.pop()
            chain.append(spot)
        chains.append(chain[:-1])
    return chains[0] + chains[1]


def _turn(a: Spot, b: Spot, c: Spot) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@dataclass(frozen=True)
class Paper:
    """Turns cm into units of the drawing: moved, scaled, y downwards."""

    left: float
    top: float
    scale: float

    def spot(self, at: Spot) -> Spot:
        """Return a spot on the paper."""
        return self.left + at[0] * self.scale, self.top - at[1] * self.scale

    def pair(self, at: Spot) -> str:
        """Return a spot as it stands in a path."""
        x, y = self.spot(at)
        return f"{short(x)} {short(y)}"

    def length(self, of: float) -> str:
        """Return a length on the paper."""
        return short(of * self.scale)

    def outline(self, spots: list[Spot], look: str, *, closed: bool = True) -> str:
        """Return a path through spots."""
        steps = "L".join(self.pair(spot) for spot in spots)
        return f'<path d="M{steps}{"Z" if closed else ""}" {look}/>'

    def line(self, a: Spot, b: Spot, look: str) -> str:
        """Return a straight line."""
        return self.outline([a, b], look, closed=False)

    def circle(self, at: Spot, radius: float, look: str) -> str:
        """Return a circle."""
        x, y = self.spot(at)
        size = self.length(radius)
        return f'<circle cx="{short(x)}" cy="{short(y)}" r="{size}" {look}/>'

    def limb(self, a: Spot, b: Spot, first: float, last: float, look: str) -> str:
        """Return a limb: two rounds and what lies between them, thicker at one end."""
        gap = math.dist(a, b)
        if gap <= abs(first - last) + 0.01:
            return self.circle(a if first > last else b, max(first, last), look)
        along = math.atan2(b[1] - a[1], b[0] - a[0])
        open_by = math.acos((first - last) / gap)
        corners = [
            (at[0] + radius * math.cos(along + turn), at[1] + radius * math.sin(along + turn))
            for at, radius, turn in (
                (a, first, open_by),
                (b, last, open_by),
                (b, last, -open_by),
                (a, first, -open_by),
            )
        ]
        one, two, three, four = (self.pair(corner) for corner in corners)
        small, great = self.length(last), self.length(first)
        far_round = f"A{small} {small} 0 {int(last > first)} 1 {three}"
        near_round = f"A{great} {great} 0 {int(first > last)} 1 {one}"
        return f'<path d="M{one}L{two}{far_round}L{four}{near_round}Z" {look}/>'


def short(value: float) -> str:
    """Return a coordinate with one decimal: enough for a picture of this size."""
    return number(round(value, 1))
