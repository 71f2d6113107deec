"""Why a line of a plan says what it says, as one tree that fits a screen."""

from collections.abc import Callable, Iterable, Sequence

from assistant.explain.asked import Meant
from assistant.explain.audited import Ground
from assistant.explain.picture import Node, more_words
from assistant.explain.why import Explanation
from assistant.model.derivation import Derivation
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.phrases import sentence_case, wrapped
from assistant.report.picture_text import KIND_WORDS, heading

# A tree is drawn as deep as fits on one screen; what lies deeper is counted.
MOST_ROWS, DEEPEST, SHALLOWEST = 26, 5, 1
_MOST_WEAKEST = 3


def why_tree(
    tops: Sequence[Explanation],
    tree_of: Callable[[Explanation, int], Node | None],
    weakest: Iterable[Derivation],
    kb: KnowledgeBase,
    meant: Meant,
    ground: Ground | None = None,
) -> str:
    """Return what was asked about, why, what it rests on, and its weakest link.

    tree_of: the tree under a fact, so many levels deep; None where nobody concluded it. ground: the
    weakest rule behind the whole plan.
    """
    rows: list[str] = wrapped(meant.line.text, "", "  ") if meant.line else []
    for top in tops:
        rows += _tree_that_fits(top, tree_of, MOST_ROWS // len(tops))
    for said in (
        weakest_words(weakest, kb),
        ground and f"Weakest of the plan: {ground_words(ground)}",
    ):
        rows += wrapped(said, "", "  ") if said else []
    if meant.others:
        rows += wrapped(f"Also fits: {', '.join(meant.others)}", "", "  ")
    return "\n".join(rows) + "\n"


def _tree_that_fits(
    top: Explanation, tree_of: Callable[[Explanation, int], Node | None], room: int
) -> list[str]:
    rows: list[str] = []
    for levels in range(DEEPEST, SHALLOWEST - 1, -1):
        tree = tree_of(top, levels)
        if tree is None:
            return [f"- {sentence_case(top.label)}: {top.value} ({top.key})", *_said(top)]
        rows = [*_said(top), *outline(tree)]
        if len(rows) <= room:
            break
    return rows


def _said(top: Explanation) -> list[str]:
    """Return the sentences behind what was asked about, above its tree."""
    rows: list[str] = wrapped(top.by_hand, "", "  ") if top.by_hand else []
    for step in top.steps:
        rows += wrapped(sentence_case(step.sentence), "", "  ")
        if step.sources:
            rows += wrapped(f"Sources: {', '.join(step.leans_on)}", "  ", "    ")
    return rows


def outline(node: Node, level: int = 0) -> list[str]:
    """Return a tree as indented rows: what, how much, its name and rule; under it the sum behind it."""
    pad = "  " * level
    rows = wrapped(node_words(node), f"{pad}- ", f"{pad}    ")
    for each in node_sums(node):
        rows += wrapped(each, f"{pad}    ", f"{pad}      ")
    for below in node.below:
        rows += outline(below, level + 1)
    return rows


def node_words(node: Node) -> str:
    """Return a node of the tree in one line: what, how much, its name and rule."""
    told = [node.key, *node.rules] if node.rules else [node.key, KIND_WORDS[node.kind]]
    small = "; ".join(filter(None, [*told, more_words(node)])) if node.key else ""
    return f"{heading(node)} ({small})" if small else heading(node)


def node_sums(node: Node) -> tuple[str, ...]:
    """Return the sums behind a node's number, and which numbers in it are the house's own."""
    return () if node.seen_elsewhere else (*(f"= {each}" for each in node.sums), *node.own)


def weakest_words(records: Iterable[Derivation], kb: KnowledgeBase) -> str:
    """Return the weakest link in words; empty where there is none."""
    named = list({record.rule_id: record for record in records}.values())
    if not named:
        return ""
    grade = named[0].grade.value
    told = [
        f"{record.rule_id} ({kb.rules[record.rule_id].title}: {kb.rules[record.rule_id].grade.note})"
        for record in named[:_MOST_WEAKEST]
    ]
    more = f"; and {len(named) - _MOST_WEAKEST} more" if len(named) > _MOST_WEAKEST else ""
    return f"Weakest link, {grade}: {'; '.join(told)}{more}"


def ground_words(ground: Ground) -> str:
    """Return a rule that a plan rests on in one line, with how sure it is and how much rests on it."""
    rule, count = ground.rule, len(ground.lines)
    lines = f"{count} line{'s' if count != 1 else ''} rest{'s' if count == 1 else ''} on it"
    grade, mark = rule.grade.certainty.value, ground.mark.value.replace("_", " ")
    return "; ".join(
        (f"{rule.id}, {grade} ({mark}): {rule.title}", rule.grade.note, *ground.signed, lines)
    )
