"""What the book rests on: rules and numbers by the best mark among their sources, and by grade."""

from collections import Counter
from collections.abc import Iterable
from typing import Any

from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule
from assistant.model.sources import CERTAINTY_ORDER, Mark, SourceUse
from assistant.quality.suite import Checked, Options, Subject

_MARKS = tuple(Mark)


def check_evidence(subject: Subject, _options: Options) -> Checked:
    """Count what rests on what; this is knowledge for who signs the book, not a finding.

    Rules of the house make no claim about bodies: they are counted apart and are no evidence.
    """
    kb = subject.book
    claims = [rule for rule in kb.rules.values() if rule.kind is None]
    read = by_mark(kb, claims)[Mark.READ.value]
    share = 100 * read / max(len(claims), 1)
    said = (
        f"{read} of {len(claims)} rules that make a claim ({share:.0f} %) rest on a source that was "
        f"read; {len(kb.rules) - len(claims)} are of the house"
    )
    return Checked("evidence", (), said, _details(kb, claims))


def by_mark(kb: KnowledgeBase, statements: Iterable[Rule | Parameter]) -> dict[str, int]:
    """Return how many statements have which mark as their best."""
    counted = Counter(best_mark(kb, each.source) for each in statements)
    return {mark.value: counted[mark] for mark in _MARKS}


def best_mark(kb: KnowledgeBase, uses: Iterable[SourceUse]) -> Mark:
    """Return the best mark among the sources of a statement."""
    return min((kb.sources[use.ref].mark for use in uses), key=_MARKS.index)


def _details(kb: KnowledgeBase, claims: list[Rule]) -> dict[str, Any]:
    readings = Counter(s.reading.outcome for s in kb.sources.values() if s.reading is not None)
    grades = Counter(rule.grade.certainty for rule in claims)
    return {
        "house_rules": len(kb.rules) - len(claims),
        "claims_by_mark": by_mark(kb, claims),
        "claims_by_grade": {each.value: grades[each] for each in CERTAINTY_ORDER},
        "numbers_by_mark": by_mark(kb, kb.parameters.values()),
        "sources_by_mark": dict(Counter(each.mark.value for each in kb.sources.values())),
        "readings": dict(readings),
        "not_read": sorted(
            each.id
            for each in kb.sources.values()
            if each.mark in {Mark.SECOND_HAND, Mark.FROM_MEMORY}
        ),
    }
