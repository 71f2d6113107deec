"""Why a line of a plan says what it says: a tree that fits a screen, or all of it down to the sources."""

from collections.abc import Sequence

from assistant.explain.asked import Meant
from assistant.explain.audited import Ground
from assistant.explain.picture import ALL_LEVELS, Draw
from assistant.explain.why import weakest_links
from assistant.model.values import FactKey
from assistant.plan.phrases import sentence_case, wrapped
from assistant.plan.sentences import Narrator
from assistant.report.picture_text import outline

# A tree is drawn as deep as fits on one screen; what lies deeper is counted.
MOST_ROWS, DEEPEST, SHALLOWEST = 26, 5, 1
_MOST_WEAKEST = 3


def why_tree(
    draw: Draw,
    narrator: Narrator,
    meant: Meant,
    ground: Ground | None = None,
    *,
    whole: bool = False,
) -> str:
    """Return what was asked about, why, what it rests on, and its weakest link.

    ground: the weakest rule behind the whole plan. whole: down to answers, numbers and sources.
    """
    rows: list[str] = wrapped(meant.line.text, "", "  ") if meant.line else []
    if whole:
        for tree in draw(meant.keys, ALL_LEVELS):
            rows += outline(tree, whole=True)
    else:
        for key in meant.keys:
            rows += _tree_that_fits(draw, key, MOST_ROWS // len(meant.keys))
    for said in (
        weakest_words(narrator, meant.keys),
        ground and f"Weakest of the plan: {ground_words(ground)}",
        meant.others and f"Also fits: {', '.join(meant.others)}",
    ):
        rows += wrapped(said, "", "  ") if said else []
    return "\n".join(rows) + "\n"


def _tree_that_fits(draw: Draw, key: FactKey, room: int) -> list[str]:
    """Return a tree below the sentences behind its root."""
    rows: list[str] = []
    for levels in range(DEEPEST, SHALLOWEST - 1, -1):
        (tree,) = draw((key,), levels)
        rows = []
        for step in tree.steps:
            rows += wrapped(sentence_case(step.sentence), "", "  ")
            if step.sources:
                rows += wrapped(f"Sources: {', '.join(step.leans_on)}", "  ", "    ")
        rows += outline(tree)
        if len(rows) <= room:
            break
    return rows


def weakest_words(narrator: Narrator, keys: Sequence[FactKey]) -> str:
    """Return the weakest link on the way down from facts in words; empty where there is none."""
    named = list({record.rule_id: record for record in weakest_links(narrator, keys)}.values())
    if not named:
        return ""
    rules = [narrator.kb.rules[record.rule_id] for record in named[:_MOST_WEAKEST]]
    told = "; ".join(f"{rule.id} ({rule.title}: {rule.grade.note})" for rule in rules)
    more = f"; and {len(named) - _MOST_WEAKEST} more" if len(named) > _MOST_WEAKEST else ""
    return f"Weakest link, {named[0].grade.value}: {told}{more}"


def ground_words(ground: Ground) -> str:
    """Return a rule that a plan rests on in one line, with how sure it is and how much rests on it."""
    rule, count = ground.rule, len(ground.lines)
    lines = f"{count} line{'s' if count != 1 else ''} rest{'s' if count == 1 else ''} on it"
    grade, mark = rule.grade.certainty.value, ground.mark.value.replace("_", " ")
    return "; ".join(
        (f"{rule.id}, {grade} ({mark}): {rule.title}", rule.grade.note, *ground.signed, lines)
    )
