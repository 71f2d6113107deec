"""A derivation's picture as SVG: one file, no script, no font of its own, read left to right.

What a box is shows in its border as well as in its colour, so that it reads in black and white; the
same content stands in `<title>` and `<desc>` for screen readers.
"""

import textwrap
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

from assistant.explain.picture import Node
from assistant.report.picture_text import KIND_WORDS, heading, in_words, small_print

BOX_WIDTH, COLUMN_GAP, ROW_GAP, PADDING, MARGIN = 270, 56, 12, 9, 16
LINE_HEIGHT, FONT_SIZE, SMALL_SIZE = 17, 13, 11
# Characters a line holds at these sizes; widths of common sans-serif faces, a little on the safe side.
CHARACTERS, SMALL_CHARACTERS = 34, 40
_FILL = {
    "conclusion": "#eef3f8",
    "answer": "#f3f0e6",
    "record": "#f3f0e6",
    "assumption": "#fbeee6",
    "context": "#f1f1f1",
    "left_out": "#ffffff",
}
_ROUND = {"answer", "record"}
_DASHES = {"assumption": "6 3", "left_out": "2 3", "context": "8 2"}


@dataclass
class _Box:
    node: Node
    column: int
    lines: list[tuple[str, bool]]
    below: list["_Box"] = field(default_factory=list)
    top: float = 0.0

    @property
    def height(self) -> int:
        return len(self.lines) * LINE_HEIGHT + 2 * PADDING

    @property
    def left(self) -> int:
        return MARGIN + self.column * (BOX_WIDTH + COLUMN_GAP)

    @property
    def middle(self) -> float:
        return self.top + self.height / 2


def picture_svg(root: Node) -> str:
    """Return the drawing; the same tree gives the same bytes."""
    tree = _box(root, 0)
    bottom = _place(tree, MARGIN)
    boxes = _flat(tree)
    legend_top = bottom + ROW_GAP
    width = max(box.left for box in boxes) + BOX_WIDTH + MARGIN
    height = legend_top + LINE_HEIGHT + MARGIN
    kinds = dict.fromkeys(box.node.kind for box in boxes)
    size = f'viewBox="0 0 {width} {_n(height)}" width="{width}" height="{_n(height)}"'
    said = 'role="img" aria-labelledby="name words"'
    rows = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {said} font-family="sans-serif">',
        f'<title id="name">{escape(f"Why: {heading(root)}")}</title>',
        f'<desc id="words">{escape(in_words(root))}</desc>',
        f'<rect width="{width}" height="{_n(height)}" fill="#ffffff"/>',
    ]
    for box in boxes:
        rows += [_line(box, each) for each in box.below]
    for box in boxes:
        rows += _drawn(box)
    legend = "; ".join(f"{_border(kind)}: {KIND_WORDS[kind]}" for kind in kinds)
    rows.append(_text(legend, MARGIN, legend_top + FONT_SIZE, small=True))
    return "\n".join([*rows, "</svg>"]) + "\n"


def _box(node: Node, column: int) -> _Box:
    lines = [(line, False) for line in textwrap.wrap(heading(node), CHARACTERS)]
    for said in small_print(node):
        lines += [(line, True) for line in textwrap.wrap(said, SMALL_CHARACTERS)]
    return _Box(node, column, lines, [_box(each, column + 1) for each in node.below])


def _place(box: _Box, top: float) -> float:
    """Give every box its place; returns the lower edge of the whole branch."""
    if not box.below:
        box.top = top
        return top + box.height
    bottom = top
    for number, each in enumerate(box.below):
        bottom = _place(each, bottom + (ROW_GAP if number else 0))
    box.top = max(top, (box.below[0].middle + box.below[-1].middle) / 2 - box.height / 2)
    return max(bottom, box.top + box.height)


def _flat(box: _Box) -> list[_Box]:
    return [box, *(each for branch in box.below for each in _flat(branch))]


def _line(box: _Box, to: _Box) -> str:
    start, end = box.left + BOX_WIDTH, to.left
    bend = (start + end) / 2
    path = f"M{start} {_n(box.middle)} C{_n(bend)} {_n(box.middle)} {_n(bend)} {_n(to.middle)} {end} {_n(to.middle)}"
    return f'<path d="{path}" fill="none" stroke="#5b6770" stroke-width="1.2"/>'


def _drawn(box: _Box) -> list[str]:
    kind = box.node.kind
    corner = 16 if kind in _ROUND else 3
    dashes = f' stroke-dasharray="{_DASHES[kind]}"' if kind in _DASHES else ""
    place = f'x="{box.left}" y="{_n(box.top)}" width="{BOX_WIDTH}" height="{box.height}"'
    look = f'rx="{corner}" fill="{_FILL[kind]}" stroke="#33414d"{dashes}'
    rows = [f"<rect {place} {look}/>"]
    for number, (line, small) in enumerate(box.lines):
        y = box.top + PADDING + number * LINE_HEIGHT + FONT_SIZE
        rows.append(_text(line, box.left + PADDING, y, small=small))
    return rows


def _text(text: str, x: float, y: float, *, small: bool) -> str:
    size, colour = (SMALL_SIZE, "#3d4a55") if small else (FONT_SIZE, "#10181f")
    return f'<text x="{_n(x)}" y="{_n(y)}" font-size="{size}" fill="{colour}">{escape(text)}</text>'


def _border(kind: str) -> str:
    if kind in _ROUND:
        return "round corners"
    return {"6 3": "dashes", "2 3": "dots", "8 2": "long dashes"}.get(
        _DASHES.get(kind, ""), "square corners"
    )


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
