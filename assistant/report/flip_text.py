"""The smallest change as text."""

from assistant.explain.flip_page import FlipPage
from assistant.plan.phrases import sentence_case
from assistant.report.text import wrapped


def flip_text(page: FlipPage, command: str) -> str:
    """Return the page as text; `command` begins the command that shows the whole difference."""
    rows = wrapped(f"{sentence_case(page.question)}.", "", "  ")
    if page.ways and not page.ways[0].moves:
        return "\n".join([*rows, "", "That is so already; nothing needs to change."]) + "\n"
    for number, way in enumerate(page.ways):
        rows += [
            "",
            f"{'Smallest change' if number == 0 else 'Just as small'} (effort {way.effort}):",
        ]
        for move in way.moves:
            rows += wrapped(move, "- ", "  ")
        rows += wrapped(f"then: {way.then}", "  ", "    ")
        if way.because:
            rows += wrapped(f"because: {way.because}", "  ", "    ")
        rows += [f"  all of it: {command} {' '.join(way.what_if)}"]
    rows += ["", *wrapped(page.proof, "", "  ")]
    if page.levers:
        rows += wrapped(f"Answers that can have a say: {page.levers}.", "", "  ")
    return "\n".join(rows) + "\n"
