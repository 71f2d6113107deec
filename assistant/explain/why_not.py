"""Why a plan does not say something else: the rules that did not fire, the nearest first.

Nearest means fewest clauses at fault, then the smallest distance to their lines, each against the
size of what is compared; then the order of the rule book.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.decide import conclude
from assistant.engine.lookup import elements
from assistant.engine.terms import Calculator, CaseFacts
from assistant.explain.gaps import Gap, gap
from assistant.model.derivation import Concluded, Derivation, Run, Verdict
from assistant.model.errors import EngineFault, InputProblems, Problem, unknown
from assistant.model.values import FactKey, Status, Value, fact_key, spelled, split_key
from assistant.plan.sentences import Narrator

# One thing in the way: the nearest of the alternatives first.
Obstacle: TypeAlias = tuple[Gap, ...]


@dataclass(frozen=True)
class Missed:
    """One rule, for one element, that did not decide the fact asked about.

    obstacles: what stands between it and firing; for an `any_of` the nearest alternative first.
    would_say: what it would conclude on the facts as they are, where that can be worked out.
    overridden_by: rules whose conclusion took precedence. outdone_by: rules whose conclusion was
    larger or smaller where the largest or smallest counts.
    """

    bound: BoundRule
    verdict: Verdict
    obstacles: tuple[Obstacle, ...] = ()
    would_say: tuple[Concluded, ...] = ()
    overridden_by: tuple[str, ...] = ()
    outdone_by: tuple[str, ...] = ()

    @property
    def distance(self) -> tuple[int, float]:
        """Number of things in the way, and the sum of their relative distances."""
        return len(self.obstacles), round(sum(o[0].relative for o in self.obstacles), 9)


@dataclass(frozen=True)
class Asked:
    """What a question is about: facts, or one rule; `value` narrows a fact to one conclusion."""

    keys: tuple[FactKey, ...] = ()
    rule_id: str = ""
    element: str | None = None
    value: str = ""


def what_is_asked(narrator: Narrator, lines: Mapping[str, tuple[FactKey, ...]], text: str) -> Asked:
    """Return what `text` names: a rule, `RULE[element]`, a fact, `fact=value`, or a line of the plan.

    lines: the facts behind each line of the plan. Raises InputProblems with the nearest names.
    """
    kb = narrator.kb
    name, _, value = text.partition("=")
    stem, element = split_key(name)
    if stem in kb.rules:
        known = elements(kb.rules[stem], kb)
        if element is not None and element not in known:
            raise _unknown(text, [f"{stem}[{each}]" for each in known if each])
        return Asked(rule_id=stem, element=element)
    if stem in kb.facts and kb.facts[stem].origin != "derived":
        told = f"`{stem}` is what the person answers; no rule concludes it; ask about a conclusion"
        raise InputProblems([Problem(text, "not-a-conclusion", told)])
    if stem in kb.facts:
        index = kb.facts[stem].index
        domain = kb.book.domains.get(index or "", ())
        if element is not None and element not in domain:
            raise _unknown(text, [fact_key(stem, each) for each in domain] or [stem])
        keys = (name,) if element or index is None else tuple(fact_key(stem, e) for e in domain)
        return Asked(keys=keys, value=value)
    behind = lines.get(name, ())
    if behind:
        return Asked(keys=behind[:1], value=value)
    concluded = [fact.id for fact in kb.facts.values() if fact.origin == "derived"]
    raise _unknown(text, [*kb.rules, *concluded, *lines])


def _unknown(text: str, known: list[str]) -> InputProblems:
    return unknown(text, known, "unknown-name", "there is no such rule, conclusion or line")


def why_not(
    book: CompiledBook, run: Run, calculators: Mapping[str, Calculator], asked: Asked
) -> list[Missed]:
    """Return the rules that did not decide what is asked, the nearest first."""
    facts = final_facts(run, calculators)
    found = [
        _missed(book, run, facts, bound, record)
        for bound, record in zip(book.rules, run.records, strict=True)
        if _concerns(bound, asked) and not _decides(run, bound, record, asked)
    ]
    wanted = [each for each in found if not asked.value or _may_say(each, asked)]
    order = {id(each): number for number, each in enumerate(wanted)}
    return sorted(wanted, key=lambda each: (*_rank(each), order[id(each)]))


def deciding(book: CompiledBook, run: Run, asked: Asked) -> list[Derivation]:
    """Return the records that did decide what is asked."""
    pairs = zip(book.rules, run.records, strict=True)
    return [r for b, r in pairs if _concerns(b, asked) and _decides(run, b, r, asked)]


def final_facts(run: Run, calculators: Mapping[str, Calculator]) -> CaseFacts:
    """Return the final facts of a run in the form that clauses read."""
    values: dict[FactKey, Value] = {key: fact.value for key, fact in run.facts.items()}
    ranges: dict[FactKey, tuple[float | None, float | None]] = {
        key: (fact.low, fact.high)
        for key, fact in run.facts.items()
        if fact.low is not None or fact.high is not None
    }
    return CaseFacts(values, ranges, calculators)


def obstacles(book: CompiledBook, bound: BoundRule, record: Derivation) -> tuple[Obstacle, ...]:
    """Return everything that stands between a rule and firing, in the order of its clauses."""
    readings = {id(c): r for c, r in zip(bound.clauses(), record.readings, strict=True)}
    found: list[Obstacle] = []
    for group in bound.when:
        gaps = [gap(clause, readings[id(clause)], book.kb) for clause in group]
        if all(each is not None for each in gaps):
            present = [each for each in gaps if each is not None]
            found.append(tuple(sorted(present, key=lambda each: each.relative)))
    for clause in bound.brakes:
        one = gap(clause, readings[id(clause)], book.kb)
        if one is not None:
            found.append((one,))
    return tuple(found)


def _missed(
    book: CompiledBook, run: Run, facts: CaseFacts, bound: BoundRule, record: Derivation
) -> Missed:
    says = record.conclusions or _would_say(bound, facts)
    if record.verdict is Verdict.NOT_IN_FORCE:
        return Missed(bound, record.verdict)
    if record.verdict in {Verdict.FIRED, Verdict.OVERRIDDEN}:
        deciders = tuple(dict.fromkeys(_deciders(run, bound)))
        stronger = {d for d in deciders if bound.rule.id in book.overrides.get(d, frozenset())}
        by = tuple(each for each in deciders if each in stronger)
        return Missed(bound, record.verdict, (), says, by, () if by else deciders)
    return Missed(bound, record.verdict, obstacles(book, bound, record), says)


def _deciders(run: Run, bound: BoundRule) -> Iterator[str]:
    for conclusion in bound.conclusions:
        fact = run.facts.get(conclusion.key)
        for derivation in fact.derivations if fact else ():
            yield run.derivation(derivation).rule_id


def _would_say(bound: BoundRule, facts: CaseFacts) -> tuple[Concluded, ...]:
    """Return what a rule would conclude, if all it is made of has a value."""
    for clause in bound.clauses():
        value = facts.read(clause.subjects[0])
        if clause.required and (value is None or isinstance(value, Status)):
            return ()
    try:
        return conclude(bound, facts)
    except EngineFault:
        return ()  # a calculator may refuse figures that the rule's conditions keep from it


def _concerns(bound: BoundRule, asked: Asked) -> bool:
    if asked.rule_id:
        same = bound.rule.id == asked.rule_id
        return same and asked.element in {None, bound.element}
    if not bound.in_force:
        wanted = {split_key(key)[0] for key in asked.keys}
        return any(conclusion.fact in wanted for conclusion in bound.rule.then)
    return any(conclusion.key in asked.keys for conclusion in bound.conclusions)


def _decides(run: Run, bound: BoundRule, record: Derivation, asked: Asked) -> bool:
    """Tell whether a rule's conclusion stands in the plan."""
    if record.verdict is not Verdict.FIRED:
        return False
    keys = [c.key for c in bound.conclusions if asked.rule_id or c.key in asked.keys]
    return any(key in run.facts and record.id in run.facts[key].derivations for key in keys)


def _may_say(missed: Missed, asked: Asked) -> bool:
    """Tell whether a rule says the value asked for; one whose value is not known may."""
    said = [each for each in missed.would_say if each.fact in asked.keys]
    return not said or any(spelled(each.value) == asked.value for each in said)


def _rank(missed: Missed) -> tuple[int, int, float]:
    """Rules that fired but gave way come first, those outside their dates last."""
    if missed.verdict is Verdict.NOT_IN_FORCE:
        return 2, 0, 0.0
    if missed.verdict in {Verdict.FIRED, Verdict.OVERRIDDEN}:
        return 0, 0, 0.0
    return 1, *missed.distance
