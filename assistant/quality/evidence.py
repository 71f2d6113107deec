"""What the book rests on: rules and numbers by the best mark among their sources, and by grade."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule
from assistant.model.sources import CERTAINTY_ORDER, Mark
from assistant.quality.line_marks import HOUSE, line_marks
from assistant.quality.suite import Checked, Options, Subject
from assistant.quality.without import Silencer

# Sources that can be read and were not: judgement and habit stand in no text.
TO_READ = frozenset({Mark.SECOND_HAND, Mark.FROM_MEMORY})


def check_evidence(subject: Subject, options: Options) -> Checked:
    """Count what rests on what; this is knowledge for who signs the book, not a finding.

    Rules of the house make no claim about bodies: they are counted apart and are no evidence.
    """
    kb = subject.book
    details, said = _details(kb, claims_of(kb)), said_of(kb)
    if lines := Counter(line_marks(subject, options)):
        total, read = lines.total() - lines[HOUSE], lines[Mark.READ.value]
        said += f"; so do {read} of {total} lines ({100 * read / max(total, 1):.0f} %) on the plans"
        details["lines_by_mark"] = dict(lines)
    return Checked("evidence", (), said, details)


def said_of(kb: KnowledgeBase) -> str:
    """Return in one line how much of the book rests on what was read."""
    claims = claims_of(kb)
    read = by_mark(kb, claims)[Mark.READ.value]
    share = 100 * read / max(len(claims), 1)
    return (
        f"{read} of {len(claims)} rules that make a claim ({share:.0f} %) rest on a source that was "
        f"read; {len(kb.rules) - len(claims)} are of the house"
    )


def by_mark(kb: KnowledgeBase, statements: Iterable[Rule | Parameter]) -> dict[str, int]:
    """Return how many statements have which mark as their best."""
    counted = Counter(kb.best_mark(each.source) for each in statements)
    return {mark.value: counted[mark] for mark in Mark}


@dataclass(frozen=True)
class Resting:
    """A claim, or a source, that nobody read: how many plans move without it, and how many conclusions in all."""

    id: str
    mark: Mark
    plans: int
    conclusions: int


def claims_of(kb: KnowledgeBase) -> list[Rule]:
    """Return the rules that say something about bodies."""
    return [rule for rule in kb.rules.values() if rule.kind is None]


def unread_claims(kb: KnowledgeBase, people: Iterable[Silencer]) -> list[Resting]:
    """Return the claims without a source that was read, those that move most plans first.

    people: whose plans they are weighed by.
    """
    unread = {r.id: r for r in claims_of(kb) if kb.best_mark(r.source) is not Mark.READ}
    plans: Counter[str] = Counter()
    conclusions: Counter[str] = Counter()
    for person in people:
        for rule_id in person.fired & unread.keys():
            gone = person.without(rule_id)
            plans[rule_id] += bool(gone.moved or gone.fault)
            conclusions[rule_id] += len(gone.moved)
    found = [Resting(r, kb.best_mark(unread[r].source), plans[r], conclusions[r]) for r in unread]
    return sorted(found, key=_heaviest)


def to_read(kb: KnowledgeBase, claims: Iterable[Resting]) -> list[Resting]:
    """Return the sources that nobody read, those whose claims move most plans first."""
    heaviest: dict[str, Resting] = {}
    for claim in claims:
        for use in kb.rules[claim.id].source:
            mark = kb.sources[use.ref].mark
            if mark in TO_READ:
                one = heaviest.get(use.ref, Resting(use.ref, mark, 0, 0))
                plans = max(one.plans, claim.plans)
                heaviest[use.ref] = Resting(
                    use.ref, mark, plans, one.conclusions + claim.conclusions
                )
    return sorted(heaviest.values(), key=_heaviest)


def _heaviest(one: Resting) -> tuple[int, int, str]:
    return -one.plans, -one.conclusions, one.id


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
        "not_read": sorted(each.id for each in kb.sources.values() if each.mark in TO_READ),
    }
