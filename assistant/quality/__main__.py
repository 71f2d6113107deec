"""`python -m assistant.quality`: run the tests that stand in the rules, and see if they are sharp.

Exit codes: 0 all well, 1 a test fails or a change goes unnoticed, 2 bad input.
"""

import argparse
import sys
from collections.abc import Sequence
from fnmatch import fnmatchcase
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.mutation import mutate_rules
from assistant.quality.points import points
from assistant.quality.rule_tests import run_rule_tests


def main(arguments: Sequence[str] | None = None) -> int:
    """Print failed tests and unnoticed changes, one a line, and return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m assistant.quality", description=__doc__)
    parser.add_argument("--mutate", action="store_true", help="also change every rule a little")
    parser.add_argument(
        "--rule", action="append", metavar="ID", help="only this rule, or a pattern such as 'SCR-*'"
    )
    parser.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    parsed = parser.parse_args(arguments)
    try:
        kb = load_knowledge(parsed.rules, calculators=CALCULATORS)
        chosen = _chosen(kb, parsed.rule)
    except InputProblems as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 2
    return _run(kb, chosen, mutate=parsed.mutate)


def _chosen(kb: KnowledgeBase, patterns: list[str] | None) -> list[Rule]:
    if patterns is None:
        return list(kb.rules.values())
    for pattern in patterns:
        if not any(fnmatchcase(rule_id, pattern) for rule_id in kb.rules):
            text = f"`{pattern}` is no rule{did_you_mean(pattern, list(kb.rules))}"
            raise InputProblems([Problem("--rule", "unknown-rule", text)])
    return [
        rule
        for rule in kb.rules.values()
        if any(fnmatchcase(rule.id, pattern) for pattern in patterns)
    ]


def _run(kb: KnowledgeBase, rules: list[Rule], *, mutate: bool) -> int:
    failures = run_rule_tests(kb, CALCULATORS, rules)
    for failure in failures:
        print(failure)
    tested = sum(len(points(rule, kb)) for rule in rules)
    print(f"{len(rules)} rules, {tested} test points, {len(failures)} failed")
    if not mutate:
        return 1 if failures else 0
    report = mutate_rules(kb, CALCULATORS, rules)
    for problem in (*report.survivors, *report.needless):
        print(problem)
    print(
        f"{report.mutants} changes: {report.noticed} noticed, {report.excused} excused by a reason, "
        f"{len(report.survivors)} unnoticed, {len(report.needless)} reasons without need"
    )
    return 1 if failures or report.survivors or report.needless else 0


if __name__ == "__main__":
    sys.exit(main())
