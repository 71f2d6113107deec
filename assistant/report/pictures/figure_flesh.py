"""The drawn body on paper: limbs as tapered rounds, the trunk as a filled outline, a head with a nose.

Limbs that do the work are thicker, outlined and hatched as well as coloured.
"""

import math
from dataclasses import dataclass

from assistant.model.documents.figures import Figures
from assistant.model.documents.poses import Pose, Position
from assistant.report.pictures.figure_body import SIDES, Body, body, plus, turned
from assistant.report.pictures.figure_shapes import Camera, Paper, Spot, hull, round_spots

_MOVING = "#d9730d"
_MARKED = f'fill="{_MOVING}" stroke="currentColor" stroke-width="1.3"'
_HATCH = 'stroke="currentColor" stroke-width="4" stroke-dasharray="1.2 3.2" stroke-linecap="butt"'
# A limb that hangs on the trunk this much (cm) further away than its middle is drawn paler.
_BEHIND = 4.0
# Closer than this (cm), one limb hides the other.
_SAME = 0.5
# The waist is this much (cm) wider to each side than it is deep.
_WAIST = 5.0


@dataclass(frozen=True)
class Stage:
    """What both panels share."""

    pose: Pose
    figures: Figures
    camera: Camera

    def body(self, position: Position, when: str) -> Body:
        """Return the body in a position at the start or the end."""
        return body(position, self.figures, self.pose.rests or (), when)


def flesh(stage: Stage, paper: Paper, at: Body) -> list[tuple[float, str]]:
    """Return the body in pieces: how near each is, and how it looks."""
    camera, thick = stage.camera, stage.figures.thickness
    rows: list[tuple[float, str]] = []
    middle = camera.depth(at.points["waist"])
    for side, _ in SIDES:
        for names, widths in (
            (("hip", "knee", "ankle"), (thick.thigh, thick.knee, thick.ankle)),
            (("shoulder", "elbow", "wrist"), (thick.shoulder, thick.elbow, thick.wrist)),
        ):
            points = [at.points[f"{name}_{side}"] for name in names]
            if side == "left" and _is_hidden(stage, at, names):
                continue
            depth = sum(map(camera.depth, points)) / len(points)
            svg = _limb(stage, paper, at, side, names, widths)
            root = camera.depth(points[0]) - camera.depth(at.points[f"{names[0]}s"])
            shade = ".38" if root < -_BEHIND else ".9"
            rows.append((depth, f'<g fill="currentColor" opacity="{shade}">{svg}</g>'))
    rows.append((middle, _torso(stage, paper, at)))
    return rows


def _is_hidden(stage: Stage, at: Body, names: tuple[str, str, str]) -> bool:
    """Whether the left limb lies just behind the right one."""
    seen = stage.camera.seen
    pairs = [(seen(at.points[f"{n}_right"]), seen(at.points[f"{n}_left"])) for n in names]
    is_behind = stage.camera.depth(at.points[f"{names[0]}_left"]) < stage.camera.depth(
        at.points[f"{names[0]}_right"]
    )
    return is_behind and all(math.dist(a, b) < _SAME for a, b in pairs)


def _limb(
    stage: Stage,
    paper: Paper,
    at: Body,
    side: str,
    names: tuple[str, str, str],
    widths: tuple[float, float, float],
) -> str:
    is_leg = names[0] == "hip"
    spots = [stage.camera.seen(at.points[f"{name}_{side}"]) for name in names]
    upper, lower = ("thighs", "shanks") if is_leg else ("upper_arms", "forearms")
    pieces = [
        (lower, spots[1], spots[2], widths[1], widths[2]),
        (upper, spots[0], spots[1], widths[0], widths[1]),
    ]
    still = moving = ""
    if not is_leg:
        still = _hand(stage, paper, at, side)
    elif _marks(stage.pose, "feet", side):
        moving = _foot(stage, paper, at, side, _MARKED)
    else:
        still = _foot(stage, paper, at, side, "")
    for limb, a, b, first, last in pieces:
        if _marks(stage.pose, limb, side):
            moving += _marked(paper, a, b, first, last)
        else:
            still += paper.limb(a, b, first, last, "")
    return still + moving


def _marks(pose: Pose, limb: str, side: str) -> bool:
    return limb in (pose.moving or ()) and pose.side in {None, "both", side}


def _marked(paper: Paper, a: Spot, b: Spot, first: float, last: float) -> str:
    """A limb that does the work: thicker, outlined and hatched."""
    return paper.limb(a, b, first + 0.6, last + 0.6, _MARKED) + paper.line(a, b, _HATCH)


def _foot(stage: Stage, paper: Paper, at: Body, side: str, look: str) -> str:
    thick = stage.figures.thickness.foot
    seen = stage.camera.seen
    ankle, heel, toe = (seen(at.points[f"{n}_{side}"]) for n in ("ankle", "heels", "toes"))
    # The sole is the lower edge of the foot, so its middle line lies a little higher.
    lift = _towards(heel, ankle, thick), _towards(toe, ankle, thick)
    spots = hull([*round_spots(lift[0], thick), *round_spots(lift[1], thick * 0.8),
                  *round_spots(ankle, stage.figures.thickness.ankle)])  # fmt: skip
    return paper.outline(spots, look)


def _towards(a: Spot, b: Spot, by: float) -> Spot:
    x, y = b[0] - a[0], b[1] - a[1]
    length = (x * x + y * y) ** 0.5 or 1.0
    return a[0] + x / length * by, a[1] + y / length * by


def _hand(stage: Stage, paper: Paper, at: Body, side: str) -> str:
    wrist, hand = (stage.camera.seen(at.points[f"{n}_{side}"]) for n in ("wrist", "hands"))
    thick = stage.figures.thickness
    return paper.limb(wrist, hand, thick.wrist, thick.hand, "")


def _torso(stage: Stage, paper: Paper, at: Body) -> str:
    thick, seen = stage.figures.thickness, stage.camera.seen
    waist, head = seen(at.points["waist"]), seen(at.points["head"])
    hips = [round_spots(seen(at.points[f"hip_{s}"]), thick.hip * 0.9) for s, _ in SIDES]
    tops = [round_spots(seen(at.points[f"shoulder_{s}"]), thick.shoulder + 1) for s, _ in SIDES]
    around = [
        spot
        for out in (-_WAIST, _WAIST)
        for spot in round_spots(
            seen(plus(at.points["waist"], turned(at.frames["pelvis"], (0, 0, out)))), thick.waist
        )
    ]
    chest = round_spots(_between(waist, seen(at.points["shoulders"]), 0.65), thick.chest)
    look, hatch, shade = 'fill="currentColor"', "", ".62"
    if "torso" in (stage.pose.moving or ()):
        look, shade = _MARKED, ".9"
        ends = _between(seen(at.points["hips"]), waist, 0.2), seen(at.points["shoulders"])
        hatch = paper.outline([ends[0], waist, ends[1]], f'fill="none" {_HATCH}', closed=False)
    radius = stage.figures.measures.head * stage.figures.stature_cm / 2
    nose, shoulders = seen(at.points["nose"]), seen(at.points["shoulders"])
    is_facing = stage.camera.depth(at.points["nose"]) >= stage.camera.depth(at.points["head"]) - 1
    upper = paper.outline(hull([*around, *chest, *tops[0], *tops[1]]), look)
    lower = paper.outline(hull([*around, *hips[0], *hips[1]]), look)
    plain = 'fill="currentColor"'
    neck = paper.limb(shoulders, head, 5, 4.5, plain)
    face = paper.circle(nose, 2.2, plain) if is_facing else ""
    return f'<g opacity="{shade}">{lower}{upper}{hatch}</g><g opacity=".62">{neck}{paper.circle(head, radius, plain)}{face}</g>'


def _between(a: Spot, b: Spot, share: float) -> Spot:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
