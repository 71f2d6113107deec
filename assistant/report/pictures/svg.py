"""A few shapes of SVG with fixed number formats, so that the same plan gives the same bytes.

Pictures are 360 units wide: read at their own size on a phone, two abreast on paper. Colours come
from classes that the page's style sheet sets for light, dark and print.
"""

from dataclasses import dataclass

from markupsafe import Markup, escape

WIDTH = 360


@dataclass(frozen=True)
class Picture:
    """A finished picture. takeaway: one line above it, as HTML."""

    id: str
    takeaway: Markup
    svg: Markup


def number(value: float) -> str:
    """Return a coordinate with at most two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if "." in f"{value:.2f}" else f"{value:.2f}"


def text(x: float, y: float, words: str, css: str = "t", anchor: str = "start") -> str:
    """Return a line of text; `anchor` is start, middle or end."""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text class="{css}" x="{number(x)}" y="{number(y)}"{where}>{escape(words)}</text>'


def rect(x: float, y: float, width: float, height: float, css: str, round_by: float = 0) -> str:
    """Return a rectangle."""
    corner = f' rx="{number(round_by)}"' if round_by else ""
    return (
        f'<rect class="{css}" x="{number(x)}" y="{number(y)}" width="{number(max(width, 0))}" '
        f'height="{number(height)}"{corner}/>'
    )


def line(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    """Return a straight line."""
    return (
        f'<line class="{css}" x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" '
        f'y2="{number(y2)}"/>'
    )


def circle(x: float, y: float, radius: float, css: str) -> str:
    """Return a dot."""
    return f'<circle class="{css}" cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"/>'


def path(points: list[tuple[float, float]], css: str, *, closed: bool = False) -> str:
    """Return a line through points, closed to an area if asked."""
    steps = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f'<path class="{css}" d="M{steps}{" Z" if closed else ""}"/>'


def drawing(
    picture_id: str,
    title: str,
    description: str,
    takeaway: Markup,
    height: float,
    body: list[str],
) -> Picture:
    """Return a picture with its title and all of it in words, for those who hear the page."""
    names = f"{picture_id}-title {picture_id}-desc"
    svg = Markup(  # noqa: S704  every text in it is escaped where it is made
        f'<svg role="img" aria-labelledby="{names}" viewBox="0 0 {WIDTH} {number(height)}" '
        f'class="picture" focusable="false">'
        f'<title id="{picture_id}-title">{escape(title)}</title>'
        f'<desc id="{picture_id}-desc">{escape(description)}</desc>{"".join(body)}</svg>'
    )
    return Picture(picture_id, takeaway, svg)


@dataclass(frozen=True)
class Scale:
    """Turns values into coordinates along one axis."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the coordinate of a value, kept inside the axis."""
        share = (value - self.low) / (self.high - self.low) if self.high > self.low else 0.5
        return self.start + (self.end - self.start) * min(1.0, max(0.0, share))
