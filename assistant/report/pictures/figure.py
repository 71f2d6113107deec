"""An exercise as a picture: its start and its end side by side, drawn from joint angles.

The start is pale, the end dark. Limbs that do the work are thicker, outlined and hatched as well as
coloured, so that the picture reads in black and white; everything else takes the colour of the text.
"""

from markupsafe import Markup, escape

from assistant.model.documents.figures import Figures
from assistant.model.documents.poses import Pose
from assistant.model.knowledge import KnowledgeBase
from assistant.report.pictures.figure_body import Body, Vector
from assistant.report.pictures.figure_flesh import Stage, flesh
from assistant.report.pictures.figure_kit import Drawn, KitPen, spots_around
from assistant.report.pictures.figure_shapes import Camera, Paper, Spot, hull, short
from assistant.report.pictures.figure_words import FigureText, figure_text
from assistant.report.pictures.svg import WIDTH

_GAP, _EDGE, _LETTERS = 14.0, 5.0, 15.0
_TALLEST = 170.0
_LARGEST = 0.95
_WAY = "#1f6fd1"
_STEPS = 6
_FLOOR_EDGE = 12.0


def figure_svg(kb: KnowledgeBase, exercise_id: str, language: str = "en") -> Markup | None:
    """Return the picture of an exercise as SVG to stand in a page; None where it is not drawn.

    language: the code of a language of the book. The same book gives the same bytes.
    """
    pose = kb.pose_of(exercise_id)
    if pose is None:
        return None
    key = (kb.content_hash, exercise_id, language)
    if key not in _drawn:
        if len(_drawn) >= _MOST_DRAWN:
            _drawn.clear()
        _drawn[key] = drawn(pose, kb.figures, figure_text(kb, exercise_id, pose, language))
    return _drawn[key]


# The same book gives the same picture, so each is drawn once a process: all exercises in two languages and more.
_MOST_DRAWN = 500
_drawn: dict[tuple[str, str, str], Markup] = {}


def drawn(pose: Pose, figures: Figures, words: FigureText) -> Markup:
    """Return a pose as SVG with its title and all of it in words."""
    assert pose.view is not None
    assert pose.start is not None
    stage = Stage(pose, figures, Camera(pose.view))
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


def _bounds(stage: Stage, bodies: list[tuple[str, Body]]) -> tuple[Spot, Spot]:
    """The corner of everything drawn in both panels, so that both have one scale."""
    spots: list[Spot] = []
    for when, at in bodies:
        for name, point in at.points.items():
            reach = stage.figures.measures.head * stage.figures.stature_cm / 2
            room = reach if name == "head" else 5.0
            x, y = stage.camera.seen(point)
            spots += [(x - room, y - room), (x + room, y + room)]
        for kit in stage.pose.kit or ():
            if kit.when in {"both", when}:
                spots += spots_around(kit, at, stage.camera)
    across, up = [x for x, _ in spots], [y for _, y in spots]
    floor = [0.0] if stage.camera.is_level else []
    return (min(across) - 3, min(up + floor) - 2), (max(across) + 3, max(up) + 3)


def _panel(stage: Stage, paper: Paper, at: Body, when: str, across: tuple[float, float]) -> str:
    pose = stage.pose
    pen = KitPen(stage.camera, paper, at)
    kit = [pen.draw(each) for each in pose.kit or () if each.when in {"both", when}]
    pieces = flesh(stage, paper, at)
    behind = _grouped([each for each in kit if each.is_furniture])
    held = [each for each in kit if not each.is_furniture]
    rows = sorted([*pieces, *((each.depth, _grouped([each])) for each in held)], key=lambda r: r[0])
    pale = ' opacity=".55"' if when == "start" and pose.end is not None else ""
    floor = _floor(stage, paper, at, across)
    way = _way(stage, paper) if when == "start" and pose.end is not None else ""
    return f"{floor}<g{pale}>{behind}{''.join(svg for _, svg in rows)}</g>{way}"


def _grouped(kit: list[Drawn]) -> str:
    if not kit:
        return ""
    inner = "".join(each.svg for each in kit)
    return f'<g fill="none" stroke="currentColor" stroke-width="1.6" opacity=".8">{inner}</g>'


def _floor(stage: Stage, paper: Paper, at: Body, across: tuple[float, float]) -> str:
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


def _way(stage: Stage, paper: Paper) -> str:
    """The way of the part that moves, from start to end, with a tip."""
    pose = stage.pose
    assert pose.end is not None
    assert pose.path is not None
    side = pose.side or "both"
    ways = (pose.on_the_way(each / _STEPS) for each in range(_STEPS + 1))
    bodies = [stage.body(position, "start") for position in ways]
    last = stage.body(pose.end, "end")
    if side == "both" and stage.camera.view in {"front", "back"} and last.is_pair(pose.path):
        side = "right"
    spots = [stage.camera.seen(each.part(pose.path, side)) for each in bodies]
    goal = stage.camera.seen(last.part(pose.path, side))
    if spots[-1] != goal:
        # What the body rests on changes between the two; only the ends are known.
        spots = [spots[0], goal]
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
