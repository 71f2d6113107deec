"""What has been tried: each clause seen true, false and unknown, each rule fired and held back.

The rules' own tests come first; what they leave open may be filled by whole cases and by invented
people. What nobody ever saw is a finding, unless a reason stands under `unmutated`. Unknown is
asked for where an answer can be missing; whether a conclusion can be missing is up to other rules.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from assistant.engine import compile_knowledge
from assistant.engine.bind import Binder
from assistant.engine.bound import BoundClause, BoundRule
from assistant.engine.decide import Judge
from assistant.engine.lookup import elements
from assistant.knowledge.walk import path_of
from assistant.model.derivation import Holds, Reading, Verdict
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.finding import from_problems
from assistant.quality.points import DEFAULT_DAY, tested
from assistant.quality.runner import day_of, outcomes
from assistant.quality.suite import Checked, Options, Subject

_AGAINST = "and no reason stands under `unmutated`"


@dataclass
class Seen:
    """Outcomes seen so far: of clauses by rule and address, and verdicts by rule."""

    clauses: dict[tuple[str, str], set[Holds]] = field(default_factory=dict)
    verdicts: dict[str, set[Verdict]] = field(default_factory=dict)

    def add(self, rule_id: str, verdict: Verdict, readings: tuple[Reading, ...]) -> None:
        """Note what one rule made of one situation."""
        self.verdicts.setdefault(rule_id, set()).add(verdict)
        for reading in readings:
            self.clauses.setdefault((rule_id, reading.address), set()).add(reading.holds)


def check_coverage(subject: Subject, options: Options) -> Checked:
    """What tests, cases and people together never saw."""
    kb = subject.book
    seen = Seen()
    for rule in kb.rules.values():
        for outcome in tested(rule, kb, subject.calculators):
            seen.add(rule.id, outcome.verdict, outcome.readings)
    wanted = {rule.id: _Wanted.of(rule, kb) for rule in kb.rules.values()}
    by_tests = sum(len(list(each.missing(seen))) for each in wanted.values())
    if by_tests:
        _tried_on_people(subject, options, wanted, seen)
    problems = [p for each in wanted.values() for p in each.problems(seen, kb)]
    total = sum(each.size for each in wanted.values())
    said = (
        f"{total} outcomes of clauses and rules, {total - by_tests} seen by the rules' own tests, "
        f"{by_tests - len(problems)} more by cases and people, {len(problems)} never"
    )
    details = {"outcomes": total, "by_tests": total - by_tests, "never": len(problems)}
    return Checked("coverage", from_problems(problems, "coverage"), said, details)


def _tried_on_people(
    subject: Subject, options: Options, wanted: Mapping[str, "_Wanted"], seen: Seen
) -> None:
    book = compile_knowledge(subject.book, day_of(options))
    open_rules = {rule_id for rule_id, each in wanted.items() if any(each.missing(seen))}
    for outcome in outcomes(book, options, subject.calculators):
        if outcome.facts is None:
            continue
        on_these = Judge(outcome.facts)
        for bound in book.rules:
            if bound.rule.id in open_rules:
                seen.add(bound.rule.id, *on_these.decide(bound))
        open_rules = {name for name in open_rules if any(wanted[name].missing(seen))}
        if not open_rules:
            return


@dataclass(frozen=True)
class _Wanted:
    """What can be seen of one rule."""

    rule: Rule
    clauses: Mapping[str, frozenset[Holds]]
    verdicts: frozenset[Verdict]

    @classmethod
    def of(cls, rule: Rule, kb: KnowledgeBase) -> "_Wanted":
        bound = Binder(rule, elements(rule, kb)[0], kb, rule.tests.on or DEFAULT_DAY).bind(0, "")
        own = [c for c in bound.clauses() if not c.required and c.role != "withheld"]
        asked = {c.address: frozenset(_outcomes(c)) for c in own if c.address != "for_each.0"}
        return cls(rule, asked, frozenset(_verdicts(bound)))

    @property
    def size(self) -> int:
        return len(self.verdicts) + sum(map(len, self.clauses.values()))

    def missing(self, seen: Seen) -> Iterator[tuple[str, Holds | Verdict]]:
        """Yield the address (or "") and the outcome that nobody saw."""
        for address, holds in self.clauses.items():
            have = seen.clauses.get((self.rule.id, address), set())
            yield from ((address, each) for each in sorted(holds - have))
        verdicts = self.verdicts - seen.verdicts.get(self.rule.id, set())
        yield from (("", each) for each in sorted(verdicts))

    def problems(self, seen: Seen, kb: KnowledgeBase) -> Iterator[Problem]:
        """Yield a problem for each outcome that nobody saw and no reason excuses."""
        for address, outcome in self.missing(seen):
            if {address, address.partition(".any_of")[0]} & set(self.rule.unmutated):
                continue
            seen_as = f"{address} was never seen" if address else "never"
            text = f"{self.rule.id} {seen_as} {outcome.value}, {_AGAINST}; add a case to the rule's tests"
            code = "unseen-clause" if address else "unseen-verdict"
            yield Problem(kb.place("rule", self.rule.id, *path_of(address)), code, text)


def _outcomes(clause: BoundClause) -> Iterator[Holds]:
    yield Holds.TRUE
    yield Holds.FALSE
    if clause.operator != "status" and _may_be_open(clause):
        yield Holds.UNKNOWN


def _may_be_open(clause: BoundClause) -> bool:
    """Whether a missing answer can leave the clause unknown."""
    return any(ref.is_answer for ref in clause.facts_read())


def _stays_open(clause: BoundClause, alternatives: Iterable[BoundClause]) -> bool:
    """Whether a missing answer leaves a condition unknown, and no alternative is met by silence itself."""
    silent = [each for each in alternatives if "unanswered" in each.options]
    met = any(set(each.facts_read()) == set(clause.facts_read()) for each in silent)
    return clause.operator != "status" and _may_be_open(clause) and not met


def _verdicts(bound: BoundRule) -> Iterator[Verdict]:
    yield Verdict.FIRED
    asked = [c for group in bound.when for c in group if not c.required]
    if asked:
        yield Verdict.FAILED_AT
    if bound.brakes:
        yield Verdict.BLOCKED_BY
    opens = [c for group in bound.when for c in group if c in asked and _stays_open(c, group)]
    opens += [c for c in bound.unless if _stays_open(c, ())]
    opens += [c for group in bound.when for c in group if c.required and _may_be_open(c)]
    if opens:
        yield Verdict.NEEDS
