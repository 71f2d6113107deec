"""The difference of two plans as text."""

from assistant.explain.causes import Cause
from assistant.explain.what_if import Difference, LineChange
from assistant.plan.phrases import underlined, wrapped

_KIND_WORDS = {"began": "now", "ceased": "no longer", "stayed": "still"}


def what_if_text(found: Difference, name: str) -> str:
    """Return what was put in and what came out of it."""
    rows = [f"What if, for {name}"]
    for change in found.put_in:
        rows += wrapped(f"{change.label}: {change.before} -> {change.after}", "  ", "    ")
    if not found.put_in:
        rows.append("  Nothing is other than before.")
    if found.stopped:
        rows += ["", *wrapped("One of the two is stopped by the screen: no plan is shown.", "", "")]
    told: set[tuple[str, str]] = set()
    for section in found.sections:
        rows += underlined(section.title)
        for line in section.lines:
            rows += line_rows(line, told)
    return "\n".join([*rows, "", *summary_rows(found)]) + "\n"


def summary_rows(found: Difference) -> list[str]:
    """Return what is given no longer or from now on, and what changed behind the page."""
    rows: list[str] = []
    if found.lost:
        rows += wrapped(f"No longer given: {', '.join(found.lost)}.", "", "  ")
    if found.won:
        told_of = "the figures stay off this page while the answers as they are withhold them"
        rows += wrapped(f"Would be given: {', '.join(found.won)}; {told_of}.", "", "  ")
    if not found.sections:
        rows.append("No line of the plan changes.")
    rows.append(f"{found.unchanged} lines stay as they are.")
    if found.reasons_only:
        names = ", ".join(found.reasons_only)
        rows += wrapped(f"Same words from another rule: {names}.", "", "  ")
    if found.elsewhere:
        rows += wrapped(f"Changed behind the page: {', '.join(found.elsewhere)}.", "", "  ")
    return rows


def line_rows(line: LineChange, told: set[tuple[str, str]]) -> list[str]:
    """Return one changed line; rules told of for one muscle or day are not told of again."""
    if line.before is None:
        rows = wrapped(f"new: {line.after}", "- ", "  ")
    elif line.after is None:
        rows = wrapped(f"gone: {line.before}", "- ", "  ")
    else:
        rows = wrapped(f"was: {line.before}", "- ", "  ")
        rows += wrapped(f"now: {line.after}", "  ", "  ")
    fresh = [cause for cause in line.causes if _short(cause, line) not in told]
    told.update(_short(cause, line) for cause in fresh)
    for cause in fresh:
        if cause.kind == "screen":
            rows += wrapped("by the screening questions", "    ", "      ")
            continue
        text = f"{_KIND_WORDS[cause.kind]} by rule {cause.rule}"
        if cause.text != line.after:
            text += f": {cause.text}"
        rows += wrapped(text, "    ", "      ")
    roots = list(dict.fromkeys(root for cause in line.causes for root in cause.roots))
    if roots and fresh:
        rows += wrapped(f"comes from: {', '.join(roots)}", "    ", "      ")
    return rows


def _short(cause: Cause, line: LineChange) -> tuple[str, str]:
    return f"{cause.kind} {cause.rule.partition('[')[0]}", line.id.partition("[")[0]
