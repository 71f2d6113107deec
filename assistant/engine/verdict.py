"""Why every rule did or did not fire, by the final facts alone.

Nothing here knows of engines. The rules that fire by the final facts must be the ones an engine
fired: that is the check every run makes on itself. What a rule made of the facts is written down
when somebody asks for its record.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.decide import Judge
from assistant.engine.lookup import left_out
from assistant.engine.session import Outcome
from assistant.model.derivation import (
    Concluded,
    Derivation,
    FactValue,
    Holds,
    Reading,
    Records,
    Verdict,
)
from assistant.model.errors import EngineFault
from assistant.model.sources import Certainty, weakest
from assistant.model.values import FactKey


class Basis(NamedTuple):
    """What a fired rule or a fact rests on: ids of answers (`a:<fact>`) and derivations.

    weakest, assumptions: of the whole chain below.
    """

    rests_on: tuple[str, ...]
    weakest: Certainty
    assumptions: tuple[str, ...] = ()


def give_verdicts(
    book: CompiledBook, outcome: Outcome, assumed: frozenset[FactKey]
) -> tuple[Records, Mapping[FactKey, FactValue]]:
    """Return a record for every rule and element, and all final facts.

    assumed: keys of answers that took their declared default.
    Raises EngineFault naming rules if the engine fired others than the final facts support.
    """
    judge = Judge(outcome.facts)
    fired = [owner for owner, bound in enumerate(book.rules) if judge.fires(bound)]
    _check_fired(book, outcome, fired)
    # A rule that gave way in one fact and stands in another did not fire in vain.
    overridden = {owner for one in outcome.combined.values() for owner in one.overridden}
    overridden -= {owner for one in outcome.combined.values() for owner in one.owners}
    # Ids go by the order of rule id and element.
    standing = (owner for owner in fired if owner not in overridden)
    ids = {owner: f"d{number}" for number, owner in enumerate(standing, start=1)}
    bases: dict[int, Basis] = {}
    chains: dict[FactKey, Basis] = {}
    for owners, closing in zip(book.by_level, book.closing, strict=True):
        for owner in owners:
            if owner in ids:
                bases[owner] = _basis(book.rules[owner], judge, chains, assumed)
        for key in closing:
            if key in outcome.combined:
                chains[key] = _chain(outcome.combined[key].owners, ids, bases)

    def record(owner: int) -> Derivation:
        verdict, readings = judge.decide(book.rules[owner])
        if owner in overridden:
            verdict = Verdict.OVERRIDDEN
        record = record_of(book.rules[owner], verdict, readings, outcome.conclusions.get(owner, ()))
        if owner not in ids:
            return record
        return replace(record, id=ids[owner], **bases[owner]._asdict())

    numbers = {derivation_id: owner for owner, derivation_id in ids.items()}
    records = Records(len(book.rules), record, numbers, book.owners)
    return records, _final_facts(book, outcome, chains)


def record_of(
    bound: BoundRule,
    verdict: Verdict,
    readings: tuple[Reading, ...],
    conclusions: tuple[Concluded, ...],
) -> Derivation:
    """Return the record of a rule by itself, without id and chain."""
    rule = bound.rule
    return Derivation(
        id="",
        rule_id=rule.id,
        rule_hash=bound.hash,
        binding=bound.binding,
        verdict=verdict,
        readings=readings,
        conclusions=conclusions,
        parameters=bound.parameters,
        sources=bound.sources,
        grade=rule.grade.certainty,
        weakest=rule.grade.certainty,
        because=rule.because,
        client_because=rule.client_because or rule.because,
    )


def _check_fired(book: CompiledBook, outcome: Outcome, fired: Iterable[int]) -> None:
    """Compare the engine's fired rules with those the final facts support."""
    by_engine, by_facts = set(outcome.conclusions), set(fired)
    if by_engine != by_facts:
        only_engine = ", ".join(map(book.name_of, sorted(by_engine - by_facts))) or "none"
        only_facts = ", ".join(map(book.name_of, sorted(by_facts - by_engine))) or "none"
        raise EngineFault(
            f"the engine and the final facts disagree: only the engine fired {only_engine}; "
            f"only the facts support {only_facts}"
        )


def _basis(
    bound: BoundRule,
    judge: Judge,
    chains: Mapping[FactKey, Basis],
    assumed: frozenset[FactKey],
) -> Basis:
    """Return what a fired rule rests on.

    It rests on the facts that made its conditions true, and on the answers that released its
    brakes. Conclusions that merely did not stand in the way carry nothing.
    """
    rests_on: dict[str, None] = {}
    assumptions: set[str] = set()
    grades = [bound.rule.grade.certainty]
    for clause in bound.clauses():
        positive = clause.role == "when"
        if positive and judge.holds(clause) is not Holds.TRUE:
            continue
        for ref in clause.facts_read():
            if ref.is_answer:
                rests_on[f"a:{ref.key}"] = None
                if ref.key in assumed:
                    assumptions.add(ref.fact_id)
            elif positive and ref.key in chains:
                chain = chains[ref.key]
                rests_on.update(dict.fromkeys(chain.rests_on))
                grades.append(chain.weakest)
                assumptions.update(chain.assumptions)
    return Basis(tuple(rests_on), weakest(grades), tuple(sorted(assumptions)))


def _chain(owners: Iterable[int], ids: Mapping[int, str], bases: Mapping[int, Basis]) -> Basis:
    """Return what a fact rests on: the rules whose conclusions gave its value."""
    below = [bases[owner] for owner in owners]
    return Basis(
        tuple(ids[owner] for owner in owners),
        weakest([each.weakest for each in below]),
        tuple(sorted({name for each in below for name in each.assumptions})),
    )


def _final_facts(
    book: CompiledBook, outcome: Outcome, chains: Mapping[FactKey, Basis]
) -> dict[FactKey, FactValue]:
    """Return all final facts by key: answers, context, conclusions, and every no by default.

    A yes/no that no rule concluded is no, unless it reveals an output that is withheld.
    """
    hidden = left_out(outcome.facts.values)
    facts: dict[FactKey, FactValue] = {}
    for key in sorted(book.refs):
        value = outcome.facts.read(book.refs[key])
        combined = outcome.combined.get(key)
        if combined is not None:
            chain = chains[key]
            facts[key] = FactValue(
                combined.value,
                combined.low,
                combined.high,
                combined.method,
                key=key,
                derivations=chain.rests_on,
                grade=chain.weakest,
                ruled=combined.ruled,
            )
        elif value is not None:
            ref = book.refs[key]
            if ref.is_answer or hidden.isdisjoint(book.kb.facts[ref.fact_id].reveals):
                facts[key] = FactValue(value, *outcome.facts.ranges.get(key, (None, None)), key=key)
    return facts
