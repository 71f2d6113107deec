"""What the book rests on: rules and numbers by the best mark among their sources, and by grade."""

from collections import Counter
from collections.abc import Iterable
from typing import Any

from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule
from assistant.model.sources import CERTAINTY_ORDER, Mark
from assistant.quality.suite import Checked, Options, Subject


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
    counted = Counter(kb.best_mark(each.source) for each in statements)
    return {mark.value: counted[mark] for mark in Mark}


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
