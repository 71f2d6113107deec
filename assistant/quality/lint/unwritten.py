"""Rules that still say what a new rule's first text says."""

from collections.abc import Iterator

from assistant.knowledge.draft import Draft
from assistant.knowledge.parsed import RawPath
from assistant.model.errors import Problem
from assistant.model.rules import Rule
from assistant.quality.skeleton import UNWRITTEN


def unwritten(draft: Draft) -> list[Problem]:
    """Return every sentence that its author has not written yet."""
    return [
        Problem(
            draft.place("rule", rule.id, *path),
            "unwritten",
            f"{rule.id} still says `{words}`; write it, or remove the rule",
        )
        for rule in draft.rules.values()
        for path, words in _said(rule)
        if words in UNWRITTEN
    ]


def _said(rule: Rule) -> Iterator[tuple[RawPath, str]]:
    yield ("title",), rule.title
    yield ("because",), rule.because
    for number, use in enumerate(rule.source):
        yield ("source", number, "supports"), use.supports
    yield ("grade", "note"), rule.grade.note
