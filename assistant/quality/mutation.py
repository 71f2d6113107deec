"""Are the rules' tests sharp? Change each rule a little; a test of that rule must notice.

A mutant is the rule with one number moved by one step, one operator replaced by its neighbour, or
one clause, one choice of a `one_of`, one term of a sum, one conclusion or one end of a range left
out. A mutant that no test point notices, and for which no reason is written under `unmutated`, is a survivor: either
a test is missing, or the part has no effect.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.knowledge.walk import (
    AddressedClause,
    clauses,
    conclusion_expressions,
    operand,
    parameters_read,
    path_of,
)
from assistant.model.clauses import AnyOf, Clause, Condition
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.finding import from_problems
from assistant.quality.points import DEFAULT_DAY, Point, Unjudged, judged, points, wrong
from assistant.quality.suite import Checked, Options, Subject
from assistant.quality.terms import with_less

NEIGHBOURS = {
    "at_least": "more_than",
    "more_than": "at_least",
    "at_most": "less_than",
    "less_than": "at_most",
    "equals": "is_not",
    "is_not": "equals",
    "has": "lacks",
    "lacks": "has",
}


@dataclass(frozen=True)
class Mutant:
    """A changed rule. `reason_key` is where a reason for it may stand under `unmutated`."""

    rule: Rule
    reason_key: str
    change: str
    params: Mapping[str, float] = field(default_factory=dict)
    dropped: frozenset[str] = frozenset()


@dataclass(frozen=True)
class MutationReport:
    """What became of all mutants.

    survivors: unnoticed and unexplained. excused: how many stand with a written reason.
    needless: reasons under `unmutated` that no unnoticed mutant needs.
    """

    mutants: int
    noticed: int
    excused: int
    survivors: tuple[Problem, ...]
    needless: tuple[Problem, ...]


def check_mutation(subject: Subject, options: Options) -> Checked:
    """Whether a test notices every small change of a rule."""
    report = mutate_rules(subject.book, subject.calculators, options.chosen(subject.book))
    found = from_problems((*report.survivors, *report.needless), "mutation")
    unnoticed = len(report.survivors)
    said = (
        f"{report.mutants} changes: {report.noticed} noticed, {report.excused} excused by a "
        f"reason, {unnoticed} unnoticed"
    )
    details = {
        "changes": report.mutants,
        "noticed": report.noticed,
        "excused": report.excused,
        "unnoticed": unnoticed,
    }
    return Checked("mutation", found, said, details)


def mutate_rules(
    kb: KnowledgeBase, calculators: Mapping[str, Any], rules: Iterable[Rule] | None = None
) -> MutationReport:
    """Judge every mutant of every rule (or of the given rules) against that rule's own tests."""
    mutants = noticed = excused = 0
    survivors: list[Problem] = []
    needless: list[Problem] = []
    for rule in kb.rules.values() if rules is None else rules:
        used: set[str] = set()
        situations = points(rule, kb)
        for mutant in mutants_of(rule, kb):
            mutants += 1
            if _is_noticed(mutant, situations, kb, calculators):
                noticed += 1
            elif mutant.reason_key in rule.unmutated:
                excused += 1
                used.add(mutant.reason_key)
            elif _reason_of_parameter(mutant.reason_key, kb):
                excused += 1
            else:
                text = (
                    f"{rule.id}: no test notices {mutant.change}; add a case to the rule's tests, or a "
                    "reason under `unmutated`"
                )
                place = _place(rule, mutant.reason_key, kb)
                survivors.append(Problem(place, "unnoticed-change", text))
        needless.extend(
            Problem(
                _place(rule, key, kb),
                "needless-reason",
                f"{rule.id}: every change of `{key}` is noticed; remove the reason under `unmutated`",
            )
            for key in rule.unmutated
            if key not in used
        )
    return MutationReport(mutants, noticed, excused, tuple(survivors), tuple(needless))


def _place(rule: Rule, reason_key: str, kb: KnowledgeBase) -> str:
    """The line of the clause or conclusion that was changed; a number stands for its whole rule."""
    path = () if reason_key in kb.parameters else path_of(reason_key)
    return kb.place("rule", rule.id, *path)


def _reason_of_parameter(key: str, kb: KnowledgeBase) -> bool:
    parameter = kb.parameters.get(key)
    return parameter is not None and parameter.unmutated is not None


def mutants_of(rule: Rule, kb: KnowledgeBase) -> Iterator[Mutant]:
    """All mutants of a rule, in a fixed order."""
    day = rule.tests.on or DEFAULT_DAY
    for name in sorted(parameters_read(rule)):
        yield from _moved(rule, name, kb, day)
    for number, condition in enumerate(rule.when):
        if isinstance(condition, AnyOf):
            address = f"when.{number}"
            yield Mutant(rule, address, f"{address} left out", dropped=frozenset({address}))
    for addressed in clauses(rule):
        address = addressed.address
        change = f"{address} ({_subject(addressed.clause)}) left out"
        yield Mutant(rule, address, change, dropped=frozenset({address}))
        yield from _changed(rule, addressed)
    yield from _concluding_less(rule)
    yield from _with_fewer_terms(rule)


def _with_fewer_terms(rule: Rule) -> Iterator[Mutant]:
    """The rule with one term of an expression left out."""
    for addressed in clauses(rule):
        compared = operand(addressed.clause)
        for told, less in with_less(compared) if compared is not None else ():
            changed = addressed.clause.model_copy(update={addressed.clause.operator: less})
            change = f"{addressed.address} ({_subject(addressed.clause)}) without {told}"
            yield Mutant(_with(rule, addressed, changed), addressed.address, change)
    for number, conclusion in enumerate(rule.then):
        for field_name, expression in conclusion_expressions(conclusion):
            for told, less in with_less(expression):
                fewer = conclusion.model_copy(update={field_name: less})
                then = (*rule.then[:number], fewer, *rule.then[number + 1 :])
                is_end = field_name in {"low", "high"}
                address = f"then.{number}.{field_name}" if is_end else f"then.{number}"
                change = f"{address} ({conclusion.fact}) without {told}"
                yield Mutant(rule.model_copy(update={"then": then}), address, change)


def _concluding_less(rule: Rule) -> Iterator[Mutant]:
    """The rule without one of its conclusions, or without one end of a conclusion's range."""
    for number, conclusion in enumerate(rule.then):
        others = (rule.then[:number], rule.then[number + 1 :])
        changed = rule.model_copy(update={"then": (*others[0], *others[1])})
        address = f"then.{number}"
        yield Mutant(changed, address, f"{address} ({conclusion.fact}) left out")
        for end in ("low", "high"):
            if getattr(conclusion, end) is not None:
                less = conclusion.model_copy(update={end: None})
                changed = rule.model_copy(update={"then": (*others[0], less, *others[1])})
                address = f"then.{number}.{end}"
                yield Mutant(changed, address, f"{address} ({conclusion.fact}) left out")


def _moved(rule: Rule, name: str, kb: KnowledgeBase, day: dt.date) -> Iterator[Mutant]:
    parameter = kb.parameters[name]
    value = kb.parameter_value(name, day).value
    for sign, word in ((1, "up"), (-1, "down")):
        moved = value + sign * parameter.step
        change = (
            f"`{name}` one step {word} ({value:g} to {moved:g}); a number in a range is tested "
            "with expect: {<fact>: {value: ..., low: ..., high: ...}}"
        )
        yield Mutant(rule, name, change, params={name: moved})


def _changed(rule: Rule, addressed: AddressedClause) -> Iterator[Mutant]:
    clause, address = addressed.clause, addressed.address
    neighbour = NEIGHBOURS.get(clause.operator)
    if neighbour is not None:
        update = {clause.operator: None, neighbour: clause.operand}
        changed = clause.model_copy(update=update)
        change = f"{address} ({_subject(clause)}) with {neighbour} for {clause.operator}"
        yield Mutant(_with(rule, addressed, changed), address, change)
    for choice in (clause.one_of or ()) if len(clause.one_of or ()) > 1 else ():
        rest = tuple(each for each in clause.one_of or () if each != choice)
        changed = clause.model_copy(update={"one_of": rest})
        change = f"{address} ({_subject(clause)}) without {choice}"
        yield Mutant(_with(rule, addressed, changed), address, change)
    counted = clause.count_true or ()
    for fact in counted if len(counted) > 1 else ():
        rest = tuple(each for each in counted if each != fact)
        changed = clause.model_copy(update={"count_true": rest})
        yield Mutant(_with(rule, addressed, changed), address, f"{address} without {fact}")


def _subject(clause: Clause) -> str:
    if clause.count_true is not None:
        return "count_true"
    return clause.fact or clause.count_items or ""


def _with(rule: Rule, addressed: AddressedClause, changed: Clause) -> Rule:
    """The rule with one clause replaced."""
    field_name, number = str(addressed.path[0]), int(addressed.path[1])
    conditions: list[Condition] = list(getattr(rule, field_name))
    condition = conditions[number]
    if isinstance(condition, AnyOf):
        inner = list(condition.any_of)
        inner[int(addressed.path[-1])] = changed
        conditions[number] = condition.model_copy(update={"any_of": tuple(inner)})
    else:
        conditions[number] = changed
    return rule.model_copy(update={field_name: tuple(conditions)})


def _is_noticed(
    mutant: Mutant, situations: list[Point], kb: KnowledgeBase, calculators: Mapping[str, Any]
) -> bool:
    rule = mutant.rule
    changed = {"params": mutant.params, "dropped": mutant.dropped}
    for point in situations:
        given = {"ranges": point.ranges, **changed}
        try:
            outcome = judged(rule, rule.tests.loop, point.given, kb, calculators, **given)
        except Unjudged:
            return True
        if wrong(point, outcome, rule, kb) is not None:
            return True
    return False
