"""An exercise as a picture: its start and its end side by side, drawn from joint angles.

The start is pale, the end dark. Limbs that do the work are thicker, outlined and hatched as well as
coloured, so that the picture reads in black and white; everything else takes the colour of the text.
"""

from dataclasses import dataclass

from markupsafe import Markup, escape

from assistant.model.documents.figures import Figures
from assistant.model.documents.poses import Pose, Position
from assistant.model.knowledge import KnowledgeBase
from assistant.report.pictures.figure_body import SIDES, Body, Vector, body
from assistant.report.pictures.figure_kit import Drawn, KitPen, spots_around
from assistant.report.pictures.figure_shapes import (
    Camera,
    Paper,
    Spot,
    hull,
    round_spots,
    short,
)
from assistant.report.pictures.figure_words import FigureText, figure_text
from assistant.report.pictures.svg import WIDTH

_GAP, _EDGE, _LETTERS = 14.0, 5.0, 15.0
_TALLEST = 170.0
_LARGEST = 0.95
_MOVING = "#d9730d"
_WAY = "#1f6fd1"
_HATCH = 'stroke="currentColor" stroke-width="4" stroke-dasharray="1.2 3.2" stroke-linecap="butt"'
_STEPS = 8
# A limb this much (cm) further away than the trunk is drawn paler.
_BEHIND = 4.0
_FLOOR_EDGE = 12.0


@dataclass(frozen=True)
class _Stage:
    """What both panels share."""

    pose: Pose
    figures: Figures
    camera: Camera

    def body(self, position: Position, when: str) -> Body:
        return body(position, self.figures, self.pose.rests or (), when)


def figure_svg(kb: KnowledgeBase, exercise_id: str, language: str = "en") -> Markup | None:
    """Return the picture of an exercise as SVG to stand in a page; None where it is not drawn.

    language: the code of a language of the book. The same book gives the same bytes.
    """
    pose = kb.pose_of(exercise_id)
    if pose is None:
        return None
    return drawn(pose, kb.figures, figure_text(kb, exercise_id, pose, language))


def drawn(pose: Pose, figures: Figures, words: FigureText) -> Markup:
    """Return a pose as SVG with its title and all of it in words."""
    assert pose.view is not None
    assert pose.start is not None
    stage = _Stage(pose, figures, Camera(pose.view))
    states = [("start", pose.start)] + ([("end", pose.end)] if pose.end else [])
    bodies = [(when, stage.body(position, when)) for when, position in states]
    low, high = _bounds(stage, bodies)
    panel = (WIDTH - _GAP - 2 * _EDGE) / 2 if len(states) > 1 else WIDTH - 2 * _EDGE
    scale = min(panel / (high[0] - low[0]), _TALLEST / (high[1] - low[1]), _LARGEST)
    tall = (high[1] - low[1]) * scale
    parts: list[str] = []
    for number, (when, at) in enumerate(bodies):
        spare = (panel - (high[0] - low[0]) * scale) / 2
        left = _EDGE + number * (panel + _GAP) + spare - low[0] * scale
        paper = Paper(left, _EDGE + high[1] * scale, scale)
        middle = _EDGE + number * (panel + _GAP) + panel / 2
        parts.append(_panel(stage, paper, at, when, (low[0], high[0])))
        parts.append(
            f'<text x="{short(middle)}" y="{short(_EDGE + tall + _LETTERS - 4)}" '
            f'text-anchor="middle" font-size="11" fill="currentColor">'
            f"{escape(words.labels[number])}</text>"
        )
    return _framed(words, "".join(parts), _EDGE + tall + _LETTERS)


def _framed(words: FigureText, inner: str, height: float) -> Markup:
    names = f"{words.id}-title {words.id}-desc"
    return Markup(  # noqa: S704  every text in it is escaped where it is made
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{names}" '
        f'viewBox="0 0 {WIDTH} {short(height)}" class="picture figure" focusable="false" '
        f'stroke-linejoin="round" stroke-linecap="round">'
        f'<title id="{words.id}-title">{escape(words.title)}</title>'
        f'<desc id="{words.id}-desc">{escape(words.description)}</desc>{inner}</svg>'
    )


def _bounds(stage: _Stage, bodies: list[tuple[str, Body]]) -> tuple[Spot, Spot]:
    """The corner of everything drawn in both panels, so that both have one scale."""
    spots: list[Spot] = []
    for when, at in bodies:
        for name, point in at.points.items():
            reach = stage.figures.measures.head * stage.figures.stature_cm / 2
            room = reach if name == "head" else 5.0
            spots += round_spots(stage.camera.seen(point), room)
        for kit in stage.pose.kit or ():
            if kit.when in {"both", when}:
                spots += spots_around(kit, at, stage.camera)
    across, up = [x for x, _ in spots], [y for _, y in spots]
    floor = [0.0] if stage.camera.is_level else []
    return (min(across) - 3, min(up + floor) - 2), (max(across) + 3, max(up) + 3)


def _panel(stage: _Stage, paper: Paper, at: Body, when: str, across: tuple[float, float]) -> str:
    pose = stage.pose
    pen = KitPen(stage.camera, paper, at)
    kit = [pen.draw(each) for each in pose.kit or () if each.when in {"both", when}]
    flesh = _flesh(stage, paper, at)
    behind = _grouped([each for each in kit if each.is_furniture])
    held = [each for each in kit if not each.is_furniture]
    rows = sorted([*flesh, *((each.depth, _grouped([each])) for each in held)], key=lambda r: r[0])
    pale = ' opacity=".55"' if when == "start" and pose.end is not None else ""
    floor = _floor(stage, paper, at, across)
    way = _way(stage, paper) if when == "start" and pose.end is not None else ""
    return f"{floor}<g{pale}>{behind}{''.join(svg for _, svg in rows)}</g>{way}"


def _grouped(kit: list[Drawn]) -> str:
    if not kit:
        return ""
    inner = "".join(each.svg for each in kit)
    return f'<g fill="none" stroke="currentColor" stroke-width="1.6" opacity=".8">{inner}</g>'


def _floor(stage: _Stage, paper: Paper, at: Body, across: tuple[float, float]) -> str:
    look = 'fill="none" stroke="currentColor" stroke-width="1" opacity=".5"'
    if stage.camera.is_level:
        return paper.line((across[0], 0), (across[1], 0), look)
    lowest = [p for p in at.points.values() if p[1] < 2 * _FLOOR_EDGE] or [(0.0, 0.0, 0.0)]
    x = [p[0] for p in lowest]
    z = [p[2] for p in lowest]
    corners: list[Vector] = [
        (a, 0.0, b)
        for a in (min(x) - _FLOOR_EDGE, max(x) + _FLOOR_EDGE)
        for b in (min(z) - _FLOOR_EDGE, max(z) + _FLOOR_EDGE)
    ]
    return paper.outline(hull([stage.camera.seen(corner) for corner in corners]), look)


def _flesh(stage: _Stage, paper: Paper, at: Body) -> list[tuple[float, str]]:
    """The body in pieces: how near each is, and how it looks."""
    camera, thick = stage.camera, stage.figures.thickness
    rows: list[tuple[float, str]] = []
    middle = camera.depth(at.points["waist"])
    for side, _ in SIDES:
        for names, widths in (
            (("hip", "knee", "ankle"), (thick.thigh, thick.knee, thick.ankle)),
            (("shoulder", "elbow", "wrist"), (thick.shoulder, thick.elbow, thick.wrist)),
        ):
            points = [at.points[f"{name}_{side}"] for name in names]
            depth = sum(map(camera.depth, points)) / len(points)
            svg = _limb(stage, paper, at, side, names, widths)
            shade = ".38" if depth < middle - _BEHIND else ".9"
            rows.append((depth, f'<g fill="currentColor" opacity="{shade}">{svg}</g>'))
    rows.append((middle, _torso(stage, paper, at)))
    return rows


def _limb(
    stage: _Stage,
    paper: Paper,
    at: Body,
    side: str,
    names: tuple[str, str, str],
    widths: tuple[float, float, float],
) -> str:
    is_leg = names[0] == "hip"
    spots = [stage.camera.seen(at.points[f"{name}_{side}"]) for name in names]
    limbs = ("thighs", "shanks", "feet") if is_leg else ("upper_arms", "forearms", "")
    ends = _foot(stage, paper, at, side) if is_leg else _hand(stage, paper, at, side)
    pieces = [
        (limbs[1], spots[1], spots[2], widths[1], widths[2]),
        (limbs[0], spots[0], spots[1], widths[0], widths[1]),
    ]
    still, moving = ends
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
    look = f'fill="{_MOVING}" stroke="currentColor" stroke-width="1.3"'
    return paper.limb(a, b, first + 0.6, last + 0.6, look) + paper.line(a, b, _HATCH)


def _foot(stage: _Stage, paper: Paper, at: Body, side: str) -> tuple[str, str]:
    thick = stage.figures.thickness.foot
    seen = stage.camera.seen
    ankle, heel, toe = (seen(at.points[f"{n}_{side}"]) for n in ("ankle", "heels", "toes"))
    # The sole is the lower edge of the foot, so its middle line lies a little higher.
    lift = _towards(heel, ankle, thick), _towards(toe, ankle, thick)
    spots = hull([*round_spots(lift[0], thick), *round_spots(lift[1], thick * 0.8),
                  *round_spots(ankle, stage.figures.thickness.ankle)])  # fmt: skip
    if _marks(stage.pose, "feet", side):
        look = f'fill="{_MOVING}" stroke="currentColor" stroke-width="1.3"'
        return "", paper.outline(spots, look)
    return paper.outline(spots, ""), ""


def _towards(a: Spot, b: Spot, by: float) -> Spot:
    x, y = b[0] - a[0], b[1] - a[1]
    length = (x * x + y * y) ** 0.5 or 1.0
    return a[0] + x / length * by, a[1] + y / length * by


def _hand(stage: _Stage, paper: Paper, at: Body, side: str) -> tuple[str, str]:
    wrist, hand = (stage.camera.seen(at.points[f"{n}_{side}"]) for n in ("wrist", "hands"))
    thick = stage.figures.thickness
    return paper.limb(wrist, hand, thick.wrist, thick.hand, ""), ""


def _torso(stage: _Stage, paper: Paper, at: Body) -> str:
    thick, seen = stage.figures.thickness, stage.camera.seen
    waist, head = seen(at.points["waist"]), seen(at.points["head"])
    hips = [round_spots(seen(at.points[f"hip_{s}"]), thick.hip * 0.9) for s, _ in SIDES]
    tops = [round_spots(seen(at.points[f"shoulder_{s}"]), thick.shoulder + 1) for s, _ in SIDES]
    around = round_spots(waist, thick.waist)
    chest = round_spots(_between(waist, seen(at.points["shoulders"]), 0.65), thick.chest)
    look, hatch, shade = 'fill="currentColor"', "", ".62"
    if "torso" in (stage.pose.moving or ()):
        look, shade = f'fill="{_MOVING}" stroke="currentColor" stroke-width="1.3"', ".9"
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


def _way(stage: _Stage, paper: Paper) -> str:
    """The way of the part that moves, from start to end, with a tip."""
    pose = stage.pose
    assert pose.end is not None
    assert pose.path is not None
    side = pose.side or "both"
    share = [each / _STEPS for each in range(_STEPS + 1)]
    bodies = [stage.body(pose.on_the_way(each), "start") for each in share]
    last = stage.body(pose.end, "end")
    spots = [stage.camera.seen(each.part(pose.path, side)) for each in bodies]
    goal = stage.camera.seen(last.part(pose.path, side))
    if spots[-1] != goal:
        # What the body rests on changes between the two; only the ends are known.
        spots = [spots[0], goal]
    if (
        side == "both"
        and stage.camera.view in {"front", "back"}
        and f"{pose.path}_right" in last.points
    ):
        spots = [stage.camera.seen(each.part(pose.path, "right")) for each in bodies]
    (x1, y1), (x2, y2) = paper.spot(spots[-2]), paper.spot(spots[-1])
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 or 1.0
    along = (x2 - x1) / length, (y2 - y1) / length
    tip = " ".join(
        f"{short(x2 + along[0] * a - along[1] * b)} {short(y2 + along[1] * a + along[0] * b)}"
        for a, b in ((4, 0), (-5, 4), (-5, -4))
    )
    look = f'fill="none" stroke="{_WAY}" stroke-width="2.4"'
    return (
        paper.outline(spots, look, closed=False)
        + f'<polygon points="{tip}" fill="{_WAY}" stroke="{_WAY}" stroke-width="1"/>'
    )
