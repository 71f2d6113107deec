"""`whyplan check`: is the rule book sound, tested, reachable, and what would a change move?"""

import argparse
import json
import sys
import time
from pathlib import Path
from typing import Any

from assistant.calculate.registry import CALCULATORS
from assistant.cli.options import RULES, count, file, form, option
from assistant.clients.book import knowledge
from assistant.clients.cases import cases_of
from assistant.knowledge import rules_directory
from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import InputProblems, Problem
from assistant.quality.checks import CHECKS, expected_seconds, run_checks
from assistant.quality.sarif import sarif_document
from assistant.quality.suite import Checked, Options, Subject, subject_of

DEFAULT_PEOPLE = 3000
_MINUTE, _SLOW_SECONDS = 60, 10

OPTIONS = (
    option("--only", f"only these checks: {', '.join(CHECKS)}", metavar="CHECK,..."),
    form("text", "json", "sarif"),
    option(
        "--rule",
        "only the tests of this rule and how sharp they are; also a pattern such as 'SCR-*'",
        action="append",
        metavar="ID",
    ),
    RULES,
    file("--house", "your own settings"),
    file("--against", "compare with this rule book", "DIR"),
    file("--cases", "folder of case files", "DIR"),
    count(
        "--people",
        f"how many invented people (default: {DEFAULT_PEOPLE}; 10000 for a proof)",
        DEFAULT_PEOPLE,
    ),
    count("--first", "number of the first one", 0),
)


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
    cases = [] if subject.kb is None else cases_of(args.cases, args.rules, subject.kb)
    options = Options(cases, args.people, args.first, against, args.rule or ("*",))
    if subject.kb is not None and not options.chosen(subject.kb):
        text = f"`{args.rule[0]}` is no rule{did_you_mean(args.rule[0], subject.kb.rules)}"
        raise InputProblems([Problem("--rule", "unknown-rule", text)])

    def begins(name: str) -> None:
        seconds = expected_seconds(name, options, subject.book, load_seconds)
        if seconds >= _SLOW_SECONDS:
            print(f"{name}: about {_span(seconds)}", file=sys.stderr, flush=True)

    checked = run_checks(subject, options, names, begins)
    if args.format == "sarif":
        print(json.dumps(sarif_document(checked, _root(args.rules)), ensure_ascii=False, indent=2))
    elif args.format == "json":
        print(json.dumps(_document(subject, checked), ensure_ascii=False, indent=2))
    else:
        _print_text(checked, args.rules)
    return 1 if any(each.findings for each in checked) else 0


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
        took = f" ({_span(each.seconds)})" if each.seconds >= 1 else ""
        print(f"{mark} {each.name}: {each.said}{took}")


def _is_as_shipped(file: str, rules: Path | None) -> bool:
    """Whether a file of another book is a shipped one, byte for byte."""
    shipped = rules_directory().resolve()
    if rules is None or rules.resolve() == shipped:
        return False
    own = rules.resolve().parent / file
    theirs = shipped.joinpath(*Path(file).parts[1:])
    return own.is_file() and theirs.is_file() and own.read_bytes() == theirs.read_bytes()


def _span(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < _MINUTE * 1.5 else f"{seconds / _MINUTE:.0f} min"
