"""All checks by name, in the order they run."""

import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from assistant.model.knowledge import KnowledgeBase
from assistant.quality.conflicts import check_conflicts
from assistant.quality.coverage import check_coverage
from assistant.quality.direction import check_direction
from assistant.quality.evidence import check_evidence
from assistant.quality.finding import from_problems
from assistant.quality.laws import check_laws
from assistant.quality.lint import lint
from assistant.quality.mutation import check_mutation
from assistant.quality.reach import check_engines, check_reachability
from assistant.quality.rule_tests import check_tests
from assistant.quality.sensitivity import check_sensitivity
from assistant.quality.suite import CONFLICT, Check, Checked, Options, Subject
from assistant.quality.versus import check_against


def check_schema(subject: Subject, _options: Options) -> Checked:
    """Everything the loader refuses, but conflicts, which have a check of their own."""
    found = tuple(each for each in subject.problems if each.code != CONFLICT)
    if subject.kb is None:
        return Checked("schema", found, "the book cannot be read as a whole; the rest was not run")
    kb = subject.kb
    said = (
        f"{len(kb.rules)} rules, {len(kb.facts)} facts, {len(kb.parameters)} numbers, "
        f"{len(kb.sources)} sources, {len(kb.questions)} questions"
    )
    return Checked("schema", found, said)


def check_lint(subject: Subject, _options: Options) -> Checked:
    """What is sound in form but cannot be meant."""
    found = from_problems(lint(subject.book, subject.calculators, subject.is_shipped), "lint")
    return Checked("lint", found, "every clause, conclusion, source, number and sentence read")


CHECKS: dict[str, Check] = {
    "schema": check_schema,
    "conflicts": check_conflicts,
    "lint": check_lint,
    "laws": check_laws,
    "tests": check_tests,
    "coverage": check_coverage,
    "mutation": check_mutation,
    "reachability": check_reachability,
    "engines": check_engines,
    "sensitivity": check_sensitivity,
    "direction": check_direction,
    "evidence": check_evidence,
    "against": check_against,
}


def run_checks(
    subject: Subject,
    options: Options,
    names: Iterable[str] | None = None,
    begins: Callable[[str], None] = lambda _: None,
) -> list[Checked]:
    """Run the named checks (all, if none are named) in their fixed order.

    The schema check always comes first; on a book that cannot be put together it is the only one.
    Without another book to compare with, `against` is left out unless it is named. begins: told the name
    of each before it runs.
    """
    wanted = set(CHECKS if names is None else names)
    if names is None and options.against is None:
        wanted.discard("against")
    if options.against is not None:
        wanted.add("against")
    done = [CHECKS["schema"](subject, options)]
    if subject.kb is None:
        return done
    for name, check in CHECKS.items():
        if name in wanted and name != "schema":
            begins(name)
            begun = time.monotonic()
            checked = check(subject, options)
            done.append(replace(checked, seconds=time.monotonic() - begun))
    return done


# What a part takes for each second that reading the book takes: at all, and for each thousand people. Measured over
# the shipped book; a part that is not named here is over in a few seconds.
_COST: Mapping[str, tuple[float, float]] = {
    "laws": (0.7, 0),
    "tests": (0.4, 0),
    "coverage": (0, 12),
    "mutation": (1.4, 0),
    "reachability": (0, 8),
    "engines": (0.7, 4),
    "sensitivity": (17, 0),
    "direction": (12, 0),
}


def expected_seconds(name: str, options: Options, kb: KnowledgeBase, load_seconds: float) -> float:
    """Return about how long a part takes on this machine, by how long it took to read the book."""
    fixed, a_thousand = _COST.get(name, (0.0, 0.0))
    share = len(options.chosen(kb)) / max(1, len(kb.rules))
    return load_seconds * (fixed * share + a_thousand * options.people / 1000)
