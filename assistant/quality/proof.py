"""The rules' own tests and their sharpness, as checks."""

import re

from assistant.knowledge.draft import Draft
from assistant.model.errors import Problem
from assistant.quality.finding import from_problems
from assistant.quality.mutation import mutate_rules
from assistant.quality.points import points
from assistant.quality.rule_tests import run_rule_tests
from assistant.quality.suite import Checked, Options, Subject

_RULE_AND_PART = re.compile(
    r"(?P<rule>[A-Z]{3}-[A-Z0-9_-]+): .*?(?P<part>(?:when|unless|excused_by|then)(?:\.\w+)+)"
)


def check_tests(subject: Subject, options: Options) -> Checked:
    """Whether every rule passes its own tests."""
    kb = subject.kb
    assert kb is not None  # run_checks saw to it
    rules = options.chosen(kb)
    failures = from_problems(run_rule_tests(kb, subject.calculators, rules), "tests")
    count = sum(len(points(rule, kb)) for rule in rules)
    said = f"{count} test points of {len(rules)} rules, {len(failures)} failed"
    return Checked("tests", failures, said, {"points": count, "failed": len(failures)})


def check_mutation(subject: Subject, options: Options) -> Checked:
    """Whether a test notices every small change of a rule."""
    kb = subject.kb
    assert kb is not None  # run_checks saw to it
    report = mutate_rules(kb, subject.calculators, options.chosen(kb))
    assert subject.draft is not None  # as above
    told = (*report.survivors, *report.needless)
    found = from_problems([_at_its_part(each, subject.draft) for each in told], "mutation")
    said = (
        f"{report.mutants} changes: {report.noticed} noticed, {report.excused} excused by a "
        f"reason, {len(report.survivors)} unnoticed"
    )
    details = {
        "changes": report.mutants,
        "noticed": report.noticed,
        "excused": report.excused,
        "unnoticed": len(report.survivors),
    }
    return Checked("mutation", found, said, details)


def _at_its_part(problem: Problem, draft: Draft) -> Problem:
    """The problem at the line of the clause or conclusion it names, if it names one."""
    found = _RULE_AND_PART.match(problem.text)
    if found is None:
        return problem
    path = [int(step) if step.isdecimal() else step for step in found["part"].split(".")]
    return Problem(draft.place("rule", found["rule"], *path), problem.code, problem.text)
