"""A derivation's picture as words: the text alternative of the drawn forms, and a form of its own."""

from assistant.explain.picture import Node, more_words
from assistant.plan.phrases import sentence_case, wrapped

KIND_WORDS = {
    "conclusion": "worked out by rules",
    "answer": "the person's own answer",
    "assumption": "assumed, not answered",
    "context": "given with the run",
    "left_out": "left out",
}


def heading(node: Node) -> str:
    """Return what a node says in one line."""
    return f"{sentence_case(node.label)}: {node.value}" if node.value else sentence_case(node.label)


def small_print(node: Node) -> tuple[str, ...]:
    """Return the lines under a node's heading: the rules, or where the fact comes from."""
    if node.kind == "left_out":
        return ()
    told = tuple(f"rule {rule}" for rule in node.rules) or (_unruled(node),)
    more = more_words(node)
    told = (*told, *node.numbers, *node.own)
    return (*told, more) if more else told


def _unruled(node: Node) -> str:
    return "no rule says yes" if node.kind == "conclusion" else KIND_WORDS[node.kind]


def outline(node: Node, level: int = 0) -> list[str]:
    """Return the tree as indented lines."""
    text = (
        f"{heading(node)} ({'; '.join(small_print(node))})" if small_print(node) else heading(node)
    )
    pad = "  " * level
    rows = wrapped(text, f"{pad}- ", f"{pad}  ")
    for below in node.below:
        rows += outline(below, level + 1)
    return rows


def in_words(node: Node) -> str:
    """Return the picture as running text, for those who cannot see it."""
    parts = [heading(node)]
    if node.rules:
        parts.append(f"by rule {' and '.join(node.rules)}")
    if node.below:
        resting = "; ".join(heading(each) for each in node.below)
        parts.append(f"rests on {len(node.below)}: {resting}")
    elif more_words(node):
        parts.append(more_words(node))
    sentence = ", ".join(parts) + "."
    under = [in_words(each) for each in node.below if each.below]
    return " ".join([sentence, *under])
