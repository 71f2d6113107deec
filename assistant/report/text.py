"""Plans and explanations as text for a terminal or a printer: 80 columns, no colour needed."""

from collections.abc import Container, Sequence

from assistant.explain.why import Explanation, Step
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Line, Plan
from assistant.plan.phrases import underlined, wrapped
from assistant.report.place_text import place_text

# The sessions stand behind the section that says how much training there is.
WEEK_FOLLOWS = "training"
_ORIGIN_WORDS = {
    "answer": "the person's own answer",
    "record": "from the client's record",
    "assumption": "assumed, not answered",
    "derived": "worked out by rules",
    "context": "given with the run",
}


def plan_text(
    plan: Plan,
    week: Sequence[str] = (),
    only: Container[str] | None = None,
    title: str = "Plan",
) -> str:
    """Return the plan as text.

    week: the rows of the sessions, if there are any. only: ids of the sections to show (all).
    """
    rows = [f"{title} for {plan.case_name}", f"As of {plan.as_of}"]
    rows += place_text(plan.place, plan.audience)
    rows.append("=" * max(len(row) for row in rows))
    for section in plan.sections:
        if only is not None and section.id not in only:
            continue
        rows += underlined(section.title)
        if section.note:
            rows += wrapped(section.note, "", "")
        for before, line in zip((None, *section.lines), section.lines, strict=False):
            rows += _line(
                line, show_grade=plan.audience == "coach", say_why=not same_reason(before, line)
            )
        if section.id == WEEK_FOLLOWS:
            rows += week
    rows += ["", _footer(plan)]
    return "\n".join(rows) + "\n"


def explanation_text(explanations: list[Explanation], kb: KnowledgeBase) -> str:
    """Return explanations as an indented walk."""
    rows: list[str] = []
    for item in explanations:
        pad = "  " * item.level
        rows += wrapped(f"{item.label}: {item.value}", pad, pad + "  ")
        rows += wrapped(f"[{item.key}, {_ORIGIN_WORDS[item.origin]}]", pad + "  ", pad + "  ")
        if item.by_hand:
            rows += wrapped(item.by_hand, pad + "  ", pad + "    ")
        for step in item.steps:
            rows += _step(step, pad + "  ", kb)
        rows.append("")
    return "\n".join(rows).rstrip() + "\n"


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


def _line(line: Line, *, show_grade: bool, say_why: bool) -> list[str]:
    rows = wrapped(line.text, "- ", "  ")
    if say_why and line.reason and line.reason != line.text:
        grade = f" [{line.grade}]" if show_grade and line.grade else ""
        rows += wrapped(f"why: {line.reason}{grade}", "    ", "    ")
    return rows


def _step(step: Step, pad: str, kb: KnowledgeBase) -> list[str]:
    rows = wrapped(f"because {step.sentence}", pad, pad + "  ")
    rows += wrapped(f"rule {step.rule_id}, grade {step.grade}", pad + "  ", pad + "    ")
    rows += (row for said in step.signed for row in wrapped(said, pad + "  ", pad + "    "))
    if step.weakest != step.grade:
        rows += wrapped(f"weakest grade on the way down: {step.weakest}", pad + "  ", pad + "    ")
    for read in step.readings:
        rows += wrapped(f"read: {read}", pad + "  ", pad + "    ")
    for use in step.parameters:
        behind = "" if use.house else f"; source: {', '.join(use.sources)}"
        said = f"number: {use.said} ({use.origin}{behind})"
        rows += wrapped(said, pad + "  ", pad + "    ")
    for ref in step.sources:
        source = kb.sources[ref]
        said = f"source {ref} ({source.mark.value.replace('_', ' ')}): {source.citation}"
        rows += wrapped(said, pad + "  ", pad + "    ")
    return rows


def _footer(plan: Plan) -> str:
    return (
        f"Rule book {plan.book_version}, logic {plan.logic_hash[:12]}; engine {plan.engine}.\n"
        + (f"Decision log {plan.log_head}\n" if plan.log_head else "")
        + "Coaching information, not medical advice."
    )
