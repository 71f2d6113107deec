"""Order of reasoning: nothing is read before it is concluded, and nothing rests on itself."""

from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.walk import LEFT_OUT, WITHHELD, facts_read, facts_written
from assistant.model.errors import Problem
from assistant.model.rules import Rule

SCREEN = "screen"


def check_order(draft: Draft, *, is_whole: bool) -> list[Problem]:
    """Return readings of later stages, of a rule's own conclusions, in circles, or of nothing."""
    problems: list[Problem] = []
    writers: dict[str, list[Rule]] = {}
    for rule in draft.rules.values():
        for fact in facts_written(rule):
            writers.setdefault(fact, []).append(rule)
    stages = {stage: number for number, stage in enumerate(draft.book.stages)}
    written_in = {
        fact: max(stages.get(rule.stage, 0) for rule in rules) for fact, rules in writers.items()
    }
    for rule in draft.rules.values():
        scope = Scope(draft, "rule", rule.id)
        for fact in sorted(_reads(rule, draft)):
            _reading(rule, fact, written_in, stages, scope, is_whole=is_whole)
        problems.extend(scope.problems)
    return problems or _circles(draft, writers)


def _reads(rule: Rule, draft: Draft) -> set[str]:
    """What a rule reads, the gate of withheld outputs included."""
    read = facts_read(rule)
    gated = any(draft.facts[fact].reveals for fact in facts_written(rule) if fact in draft.facts)
    if gated and rule.stage != SCREEN:
        read = read | ({WITHHELD, LEFT_OUT} & draft.facts.keys())
    return read


def _reading(
    rule: Rule,
    fact: str,
    written_in: Mapping[str, int],
    stages: Mapping[str, int],
    scope: Scope,
    *,
    is_whole: bool,
) -> None:
    declaration = scope.draft.facts.get(fact)
    if declaration is None or declaration.origin != "derived":
        return
    if fact in facts_written(rule):
        text = f"the rule reads `{fact}`, which it concludes itself"
        scope.problem((), "reads-own-conclusion", text)
    elif fact not in written_in:
        # The gate of withheld outputs holds nothing back where no rule withholds anything.
        if is_whole and fact in facts_read(rule):
            text = f"no rule concludes `{fact}`, which this rule reads"
            scope.problem((), "never-concluded", text)
    elif written_in[fact] > stages.get(rule.stage, len(stages)):
        later = scope.draft.book.stages[written_in[fact]]
        text = f"`{fact}` is concluded in the later stage `{later}`"
        scope.problem((), "later-stage", text)


def _circles(draft: Draft, writers: Mapping[str, list[Rule]]) -> list[Problem]:
    """One problem for every circle among the facts and what they rest on; a told one is cut open."""
    rests_on = {
        fact: {r for rule in rules for r in _reads(rule, draft) if r in writers}
        for fact, rules in sorted(writers.items())
    }
    problems: list[Problem] = []
    while True:
        try:
            TopologicalSorter({fact: sorted(rests_on[fact]) for fact in rests_on}).prepare()
        except CycleError as error:
            around = error.args[1][:0:-1]
            first = around.index(min(around))
            circle = [*around[first:], *around[:first], around[first]]
            problems.append(_circle(circle, draft, writers))
            rests_on[circle[0]].discard(circle[1])
        else:
            return problems


def _circle(circle: list[str], draft: Draft, writers: Mapping[str, list[Rule]]) -> Problem:
    rule = min((r for r in writers[circle[0]] if circle[1] in _reads(r, draft)), key=lambda r: r.id)
    text = f"facts rest on each other in a circle: {' <- '.join(circle)}"
    return Problem(draft.place("rule", rule.id), "circle", text)
