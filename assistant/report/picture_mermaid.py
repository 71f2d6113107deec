"""A derivation's picture as Mermaid text, for pages and editors that draw it themselves."""

from assistant.explain.picture import Node
from assistant.report.picture_text import heading, in_words, small_print

# Characters that end a label or start something else in Mermaid, as its numbered entities.
_ENTITIES = {ord(char): f"#{ord(char)};" for char in '"#&<>[]{}()|;`\\'}
_SHAPES = {
    "conclusion": ('["', '"]'),
    "answer": ('(["', '"])'),
    "record": ('(["', '"])'),
    "assumption": ('[/"', '"/]'),
    "context": ('("', '")'),
    "left_out": ('{{"', '"}}'),
}


def picture_mermaid(root: Node) -> str:
    """Return a flowchart; the same tree gives the same bytes."""
    rows = [
        "flowchart LR",
        f"  accTitle: {_plain(f'Why: {heading(root)}')}",
        f"  accDescr: {_plain(in_words(root))}",
    ]
    _write(root, "n", rows)
    return "\n".join(rows) + "\n"


def _write(node: Node, name: str, rows: list[str]) -> None:
    """Write a node and its branches; a node is named after its place in the tree."""
    start, end = _SHAPES[node.kind]
    label = "<br/>".join(part.translate(_ENTITIES) for part in (heading(node), *small_print(node)))
    rows.append(f"  {name}{start}{label}{end}")
    for number, below in enumerate(node.below, start=1):
        child = f"{name}_{number}"
        _write(below, child, rows)
        rows.append(f"  {name} --> {child}")


def _plain(text: str) -> str:
    """Return text for the accessible title and description, which run to the end of the line."""
    return " ".join(text.replace("{", "(").replace("}", ")").split())
