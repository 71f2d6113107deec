"""`whyplan check`: is the rule book sound, tested, reachable, and what would a change move?"""

import argparse
import json
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from assistant.calculate.registry import CALCULATORS
from assistant.cli.progress import Line, span
from assistant.clients.book import knowledge
from assistant.clients.cases import cases_of
from assistant.knowledge import rules_directory
from assistant.knowledge.nearest import did_you_mean
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.checks import CHECKS, expected_seconds, run_checks
from assistant.quality.sarif import sarif_document
from assistant.quality.suite import Checked, Options, Subject, subject_of


def run(args: argparse.Namespace) -> int:
    """Print the findings; 1 if there are any."""
    names = _names("tests,mutation" if args.rule and not args.only else args.only)
    if args.people < 0 or args.first < 0:
        text = f"{min(args.people, args.first)} is no number of people; allowed: 0 and more"
        raise InputProblems([Problem("--people", "bad-value", text)])
    begun = time.monotonic()
    subject = subject_of(args.rules, args.house, CALCULATORS)
    load_seconds = time.monotonic() - begun
    against = None if args.against is None else knowledge(args.against, None)
    cases = [] if subject.kb is None else _cases(args, subject.kb)
    people = 0 if args.on else args.people
    options = Options(cases, people, args.first, against, args.rule or ("*",))
    if subject.kb is not None and not options.chosen(subject.kb):
        text = f"`{args.rule[0]}` is no rule{did_you_mean(args.rule[0], subject.kb.rules)}"
        raise InputProblems([Problem("--rule", "unknown-rule", text)])

    wanted = [name for name in CHECKS if names is None or name in names]
    with Line() as line:

        def begins(name: str) -> None:
            """Tell how long this check and those after it take."""
            still = wanted[wanted.index(name) :] if name in wanted else [name]
            each = (expected_seconds(one, options, subject.book, load_seconds) for one in still)
            line.at(name, sum(each))

        checked = run_checks(subject, options, names, begins)
    if args.format == "sarif":
        print(json.dumps(sarif_document(checked, _root(args.rules)), ensure_ascii=False, indent=2))
    elif args.format == "json":
        print(json.dumps(_document(subject, checked), ensure_ascii=False, indent=2))
    else:
        _print_text(checked, args.rules)
    return 1 if any(each.findings for each in checked) else 0


def _cases(args: argparse.Namespace, kb: KnowledgeBase) -> Sequence[tuple[str, Case]]:
    """The cases to try the book with. Raises InputProblems."""
    if args.on is None:
        return cases_of(args.cases, args.rules, kb)
    try:
        from assistant.batch.summary import cases_in
    except ModuleNotFoundError as error:
        text = f"parts need the package {error.name}: pip install 'whyplan[batch]'"
        raise InputProblems([Problem("--on", "not-installed", text)]) from None
    return list(cases_in(args.on, kb))


def _names(only: str | None) -> list[str] | None:
    if only is None:
        return None
    names = [name.strip() for name in only.split(",") if name.strip()]
    strange = [name for name in names if name not in CHECKS]
    if strange or not names:
        wrong = strange[0] if strange else only
        hint = did_you_mean(wrong, CHECKS)
        text = f"`{wrong}` is no check; allowed: {', '.join(CHECKS)}{hint}"
        raise InputProblems([Problem("--only", "unknown-check", text)])
    return names


def _root(rules: Path | None) -> str:
    folder = rules_directory() if rules is None else rules
    return folder.resolve().parent.as_uri() + "/"


def _document(subject: Subject, checked: list[Checked]) -> dict[str, Any]:
    kb = subject.kb
    book = None if kb is None else {"name": kb.book.name, **kb.identity}
    findings = [finding for each in checked for finding in each.findings]
    return {
        "book": book,
        "checks": [
            {
                "name": e.name,
                "findings": len(e.findings),
                "said": e.said,
                "details": dict(e.details),
            }
            for e in checked
        ],
        "findings": [vars_of(finding) for finding in findings],
    }


def vars_of(finding: Any) -> dict[str, Any]:
    """A finding as plain data."""
    return {
        name: getattr(finding, name)
        for name in ("file", "line", "code", "level", "check", "what", "fix")
    }


def _print_text(checked: list[Checked], rules: Path | None) -> None:
    findings = [finding for each in checked for finding in each.findings]
    as_shipped = {each.file for each in findings if _is_as_shipped(each.file, rules)}
    for finding in findings:
        if finding.file not in as_shipped:
            print(finding)
    if as_shipped:
        print("In files that are as shipped, so hardly of your making:")
        for finding in findings:
            if finding.file in as_shipped:
                print(f"  {finding}")
    for each in checked:
        mark = "ok  " if not each.findings else f"{len(each.findings):<4}"
        took = f" ({span(each.seconds)})" if each.seconds >= 1 else ""
        print(f"{mark} {each.name}: {each.said}{took}")


def _is_as_shipped(file: str, rules: Path | None) -> bool:
    """Whether a file of another book is a shipped one, byte for byte."""
    shipped = rules_directory().resolve()
    if rules is None or rules.resolve() == shipped:
        return False
    own = rules.resolve().parent / file
    theirs = shipped.joinpath(*Path(file).parts[1:])
    return own.is_file() and theirs.is_file() and own.read_bytes() == theirs.read_bytes()
