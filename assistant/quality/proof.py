"""The rules' own tests and their sharpness, as checks."""

from assistant.quality.finding import from_problems
from assistant.quality.mutation import mutate_rules
from assistant.quality.points import points
from assistant.quality.rule_tests import run_rule_tests
from assistant.quality.suite import Checked, Options, Subject


def check_tests(subject: Subject, _options: Options) -> Checked:
    """Whether every rule passes its own tests."""
    kb = subject.kb
    assert kb is not None  # run_checks saw to it
    failures = from_problems(run_rule_tests(kb, subject.calculators), "tests")
    count = sum(len(points(rule, kb)) for rule in kb.rules.values())
    said = f"{count} test points of {len(kb.rules)} rules, {len(failures)} failed"
    return Checked("tests", failures, said, {"points": count, "failed": len(failures)})


def check_mutation(subject: Subject, _options: Options) -> Checked:
    """Whether a test notices every small change of a rule."""
    kb = subject.kb
    assert kb is not None  # run_checks saw to it
    report = mutate_rules(kb, subject.calculators)
    found = from_problems((*report.survivors, *report.needless), "mutation")
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
