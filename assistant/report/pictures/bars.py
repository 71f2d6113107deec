"""Counts as bars, each over the band of what it is out of."""

from collections.abc import Sequence

from markupsafe import Markup

from assistant.report.pictures.svg import Picture, Scale, drawing, rect, text

_LABELS, _END, _ROW, _HEAD, _LETTERS = 150.0, 312.0, 18.0, 4.0, 24


def bars(picture_id: str, title: str, rows: Sequence[tuple[str, int, int]]) -> Picture:
    """Return bars, one a row of label, count, and out of how many."""
    scale = Scale(0, max((max(count, of) for _, count, of in rows), default=1), _LABELS, _END)
    body = []
    for number, (label, count, of) in enumerate(rows):
        y = _HEAD + number * _ROW
        short = label if len(label) <= _LETTERS else f"{label[: _LETTERS - 1]}…"
        body += [
            text(0, y + 12, short, "t small"),
            rect(_LABELS, y + 2, scale.at(of) - _LABELS, 13, "band", 2),
            rect(_LABELS, y + 4, scale.at(count) - _LABELS, 9, "bar", 2),
            text(_END + 6, y + 12, str(count), "t small"),
        ]
    told = " ".join(f"{label}: {count} of {of}." for label, count, of in rows)
    return drawing(picture_id, title, told, Markup(), _HEAD + len(rows) * _ROW + 4, body)
