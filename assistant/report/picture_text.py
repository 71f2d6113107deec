"""A derivation's tree as words: the one outline of it, and the text beside the drawn forms."""

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.explain.picture import Node, more_words
from assistant.explain.why import Step
from assistant.plan.phrases import sentence_case, wrapped

KIND_WORDS = {
    "conclusion": "worked out by rules",
    "answer": "the person's own answer",
    "record": "from the client's record",
    "assumption": "assumed, not answered",
    "context": "given with the run",
    "left_out": "left out",
}


@dataclass(frozen=True)
class Entry:
    """One statement, and what stands under it.

    name: of what is told here, for links to it. link: where it leads. why: what `below` is behind, where that
    is shown on demand. is_note: it belongs to the statement above it.
    """

    text: str
    below: tuple["Entry", ...] = ()
    name: str = ""
    link: str = ""
    why: str = ""
    is_note: bool = False


def heading(node: Node) -> str:
    """Return what a node says in one line."""
    value = f"{node.value} (range {node.spread})" if node.spread else node.value
    return f"{sentence_case(node.label)}: {value}" if value else sentence_case(node.label)


def small_print(node: Node) -> tuple[str, ...]:
    """Return the lines under a node's heading: the rules, or where the fact comes from."""
    if node.kind == "left_out":
        return ()
    told = tuple(f"rule {rule}" for rule in node.rules) or (_unruled(node),)
    return tuple(filter(None, (*told, *node.numbers, *node.own, more_words(node))))


def _unruled(node: Node) -> str:
    return "no rule says yes" if node.kind == "conclusion" else KIND_WORDS[node.kind]


def outline(node: Node, *, whole: bool = False) -> list[str]:
    """Return the tree as indented rows. whole: with the sentence, readings, numbers and sources of each rule."""
    return list(rows_of(entry_of(node, whole=whole)))


def entry_of(node: Node, *, whole: bool = False) -> Entry:
    """Return a tree as entries; a fact that is drawn elsewhere leads there."""
    small = (node.key, *(node.rules or (_unruled(node),)), more_words(node))
    text = f"{heading(node)} ({'; '.join(filter(None, small))})" if node.key else heading(node)
    notes = [node.by_hand, *(f"= {each}" for each in node.sums), *(() if whole else node.own)]
    said = (Entry(note, is_note=True) for note in notes if note)
    because = map(_because, node.steps if whole else ())
    if node.seen_elsewhere:
        return Entry(text, link=f"#fact-{node.key}")
    below = (entry_of(each, whole=whole) for each in node.below)
    return Entry(text, (*said, *because, *below), f"fact-{node.key}" if node.below else "")


def _because(step: Step) -> Entry:
    """Return a rule as a note under what it concluded: its sentence, and under it all that it leans on."""
    weakest = f"; weakest grade on the way down: {step.weakest}"
    small = f"{step.named}{weakest if step.weakest != step.grade else ''}"
    below = [*step.signed, *(f"read: {each}" for each in step.readings)]
    for use in step.parameters:
        behind = "" if use.house else f"; source: {', '.join(use.sources)}"
        below.append(f"number: {use.said} ({use.origin}{behind})")
    below += (f"source {each.cited}" for each in step.sources)
    notes = tuple(Entry(each, is_note=True) for each in below)
    return Entry(f"because {step.sentence} ({small})", notes, is_note=True)


def rows_of(entry: Entry, level: int = 0) -> Iterator[str]:
    """Yield an entry and what stands under it as indented rows."""
    pad = "  " * level
    address = f" {entry.link}" if entry.link.startswith("https:") else ""
    yield from wrapped(
        f"{entry.text}{address}", f"{pad}{'  ' if entry.is_note else '- '}", f"{pad}    "
    )
    for below in entry.below:
        yield from rows_of(below, level + 1)


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
