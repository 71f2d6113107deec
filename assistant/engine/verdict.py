"""Why every rule did or did not fire: one plain pass over the final facts.

This pass knows nothing of engines. Its fired rules must be the ones an engine fired; that is
the check every run makes on itself.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.decide import decide
from assistant.engine.lookup import left_out
from assistant.engine.session import Outcome
from assistant.model.derivation import Concluded, Derivation, FactValue, Holds, Reading, Verdict
from assistant.model.errors import EngineFault
from assistant.model.sources import Certainty, weakest
from assistant.model.values import FactKey

Decision = tuple[Verdict, tuple[Reading, ...]]


@dataclass(frozen=True)
class Chain:
    """What a fact rests on: derivation ids, weakest grade, and assumptions below it."""

    derivations: tuple[str, ...] = ()
    weakest: Certainty = Certainty.STRONG
    assumptions: tuple[str, ...] = ()


def give_verdicts(
    book: CompiledBook, outcome: Outcome, assumed: frozenset[FactKey]
) -> tuple[tuple[Derivation, ...], Mapping[FactKey, FactValue]]:
    """Return one derivation for every rule and element, and all final facts.

    assumed: keys of answers that took their declared default.
    Raises EngineFault naming rules if the engine fired others than the final facts support.
    """
    known: dict[int, Reading] = {}
    decisions = [decide(bound, outcome.facts, known) for bound in book.rules]
    _check_fired(book, outcome, decisions)
    overridden = {owner for one in outcome.combined.values() for owner in one.overridden}
    ids = _number(decisions, overridden)
    plain = [
        plain_record(bound, *decision, outcome.conclusions.get(owner, ()))
        for owner, (bound, decision) in enumerate(zip(book.rules, decisions, strict=True))
    ]
    records: dict[int, Derivation] = {
        owner: replace(plain[owner], verdict=Verdict.OVERRIDDEN) for owner in overridden
    }
    chains: dict[FactKey, Chain] = {}
    by_level: dict[int, list[int]] = {}
    for owner in ids:
        by_level.setdefault(book.rule_level(owner), []).append(owner)
    for level in range(1, book.program.levels + 1):
        for owner in by_level.get(level, ()):
            records[owner] = _fired(book.rules[owner], plain[owner], ids[owner], chains, assumed)
        _close(book.closing[level], outcome, records, chains)
    ordered = tuple(records.get(owner, record) for owner, record in enumerate(plain))
    return ordered, _final_facts(book, outcome, chains)


def plain_record(
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


def _number(decisions: list[Decision], overridden: set[int]) -> dict[int, str]:
    """Give the fired rules their ids, in the order of rule id and element."""
    fired = (
        owner
        for owner, (verdict, _) in enumerate(decisions)
        if verdict is Verdict.FIRED and owner not in overridden
    )
    return {owner: f"d{number}" for number, owner in enumerate(fired, start=1)}


def _check_fired(book: CompiledBook, outcome: Outcome, decisions: list[Decision]) -> None:
    """Compare the engine's fired rules with those the final facts support."""
    by_engine = set(outcome.conclusions)
    by_facts = {owner for owner, (verdict, _) in enumerate(decisions) if verdict is Verdict.FIRED}
    if by_engine != by_facts:
        only_engine = ", ".join(map(book.name_of, sorted(by_engine - by_facts))) or "none"
        only_facts = ", ".join(map(book.name_of, sorted(by_facts - by_engine))) or "none"
        raise EngineFault(
            f"the engine and the final facts disagree: only the engine fired {only_engine}; "
            f"only the facts support {only_facts}"
        )


def _fired(
    bound: BoundRule,
    plain: Derivation,
    derivation_id: str,
    chains: Mapping[FactKey, Chain],
    assumed: frozenset[FactKey],
) -> Derivation:
    """Return the record of a fired rule with what it rests on.

    It rests on the facts that made its conditions true, and on the answers that released its
    brakes. Conclusions that merely did not stand in the way carry nothing.
    """
    rests_on: dict[str, None] = {}
    assumptions: dict[str, None] = {}
    grades = [plain.grade]
    for clause, reading in zip(bound.clauses(), plain.readings, strict=True):
        positive = clause.role == "when"
        if positive and reading.holds is not Holds.TRUE:
            continue
        for ref in clause.facts_read():
            if ref.is_answer:
                rests_on[f"a:{ref.key}"] = None
                if ref.key in assumed:
                    assumptions[ref.fact_id] = None
            elif positive and ref.key in chains:
                chain = chains[ref.key]
                rests_on.update(dict.fromkeys(chain.derivations))
                grades.append(chain.weakest)
                assumptions.update(dict.fromkeys(chain.assumptions))
    return replace(
        plain,
        id=derivation_id,
        rests_on=tuple(rests_on),
        weakest=weakest(grades),
        assumptions=tuple(sorted(assumptions)),
    )


def _close(
    keys: Iterable[FactKey],
    outcome: Outcome,
    records: Mapping[int, Derivation],
    chains: dict[FactKey, Chain],
) -> None:
    """Note what each fact that closes rests on."""
    for key in keys:
        combined = outcome.combined.get(key)
        if combined is None:
            continue
        below = [records[owner] for owner in combined.owners if owner in records]
        assumptions = {name for record in below for name in record.assumptions}
        chains[key] = Chain(
            tuple(record.id for record in below),
            weakest([record.weakest for record in below]),
            tuple(sorted(assumptions)),
        )


def _final_facts(
    book: CompiledBook, outcome: Outcome, chains: Mapping[FactKey, Chain]
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
                key,
                combined.value,
                combined.low,
                combined.high,
                combined.method,
                chain.derivations,
                chain.weakest,
            )
        elif value is not None:
            ref = book.refs[key]
            if ref.is_answer or not hidden & set(book.kb.facts[ref.fact_id].reveals):
                facts[key] = FactValue(key, value, *outcome.facts.ranges.get(key, (None, None)))
    return facts
