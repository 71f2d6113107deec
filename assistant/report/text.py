"""Plans as text for a terminal or a printer: 80 columns, no colour needed."""

from collections.abc import Container, Sequence

from assistant.model.plan import Line, Plan, PlanSection
from assistant.plan.phrases import underlined, wrapped
from assistant.report.place_text import place_text

# Texts begin behind the longest name up to this; a longer name pushes its own to the right.
_MARGIN = 14


def sections_text(plan: Plan, only: Container[str], title: str) -> str:
    """Return some sections of a plan, whole, under a title. only: their ids."""
    rows = head_rows(plan, title)
    for section in plan.sections:
        if section.id in only:
            rows += section_rows(section, plan.audience, full=True)
    return "\n".join([*rows, "", *foot_rows(plan)]) + "\n"


def head_rows(plan: Plan, title: str) -> list[str]:
    """Return whom a text is about and where their plan stands."""
    rows = [f"{title} for {plan.case_name}", f"As of {plan.as_of}"]
    rows += place_text(plan.place, plan.audience)
    return [*rows, "=" * max(len(row) for row in rows)]


def section_rows(section: PlanSection, audience: str, *, full: bool) -> list[str]:
    """Return a section under its title. full: with its note and the reasons."""
    rows = underlined(section.title)
    if full and section.note:
        rows += wrapped(section.note, "", "")
    return rows + line_rows(section.lines, audience, full=full)


def line_rows(lines: Sequence[Line], audience: str, *, full: bool) -> list[str]:
    """Return lines with the names in the margin that `why` takes. full: with reasons, a coach's with grades."""
    named = [len(line.typed) for line in lines if len(line.typed) <= _MARGIN]
    pad = " " * (max(named, default=0) + 2)
    rows: list[str] = []
    for before, line in zip((None, *lines), lines, strict=False):
        rows += wrapped(line.text, f"{line.typed}  ".ljust(len(pad)), pad)
        if full and line.reason and line.reason != line.text and not same_reason(before, line):
            grade = f" [{line.grade}]" if audience == "coach" and line.grade else ""
            rows += wrapped(f"why: {line.reason}{grade}", f"{pad}  ", f"{pad}  ")
    return rows


def same_reason(before: Line | None, line: Line) -> bool:
    """Tell whether a repeated line (another muscle, another day) has its reason from the same rule.

    The reason is printed once for such a run of lines; `why` and the JSON give each its own.
    """
    return (
        before is not None
        and bool(line.rule)
        and before.rule == line.rule
        and before.id.partition("[")[0] == line.id.partition("[")[0]
    )


def foot_rows(plan: Plan) -> list[str]:
    """Return which rule book and engine a plan is from, and the caution under every text."""
    log = [f"Decision log {plan.log_head}"] if plan.log_head else []
    book = f"Rule book {plan.book_version}, logic {plan.logic_hash[:12]}; engine {plan.engine}."
    return [book, *log, "Coaching information, not medical advice."]
