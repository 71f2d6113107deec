"""Run the tests that stand in the rules themselves."""

from collections.abc import Iterable, Mapping
from typing import Any

from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.finding import from_problems
from assistant.quality.points import Unjudged, judged, points, wrong
from assistant.quality.suite import Checked, Options, Subject


def check_tests(subject: Subject, options: Options) -> Checked:
    """Whether every rule passes its own tests."""
    kb = subject.book
    rules = options.chosen(kb)
    failures = from_problems(run_rule_tests(kb, subject.calculators, rules), "tests")
    count = sum(len(points(rule, kb)) for rule in rules)
    said = f"{count} test points of {len(rules)} rules, {len(failures)} failed"
    return Checked("tests", failures, said, {"points": count, "failed": len(failures)})


def run_rule_tests(
    kb: KnowledgeBase, calculators: Mapping[str, Any], rules: Iterable[Rule] | None = None
) -> list[Problem]:
    """Return one problem for every test point (of the given rules) that does not come out.

    Each rule is judged by itself over the facts its test gives, so a failure always lies in the
    rule or its test, never in another rule.
    """
    return [
        problem
        for rule in (kb.rules.values() if rules is None else rules)
        for problem in rule_test_failures(rule, kb, calculators)
    ]


def rule_test_failures(
    rule: Rule, kb: KnowledgeBase, calculators: Mapping[str, Any]
) -> list[Problem]:
    """Return the failures of one rule's tests."""
    place = str(kb.places[rule.id])
    failures = []
    for point in points(rule, kb):
        try:
            loop = rule.tests.loop
            outcome = judged(rule, loop, point.given, kb, calculators, ranges=point.ranges)
            difference = wrong(point, outcome, rule, kb)
        except Unjudged as error:
            difference = f"the rule cannot be worked out: {error}"
        if difference is not None:
            text = f"{rule.id} {point.address}: {difference}; correct the rule, or the test if the rule is right"
            failures.append(Problem(place, "rule-test", text))
    return failures
