"""Case files, and cases as JSON lines: one person's answers, the day, and what a plan for them must say."""

import datetime as dt
from pathlib import Path
from typing import Any

from assistant.casefiles.answers import check_answers
from assistant.casefiles.decisions import read_decisions
from assistant.casefiles.overrides import read_overrides
from assistant.casefiles.wishes import read_wishes
from assistant.knowledge.files import MAX_BYTES
from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.strict_json import strict_json, texts_of
from assistant.knowledge.strict_yaml import invisible_character, parse_file
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.knowledge import KnowledgeBase

MAX_NAME = 200
_FIELDS = ("name", "as_of", "answers", "week", "decisions", "overrides", "expect", "expect_reasons")


def read_case(path: Path, kb: KnowledgeBase) -> Case:
    """Read and check a case file (YAML or JSON).

    Dates may stand without quotes here. Expectations are kept as written: they are the business
    of whoever compares them with a plan. Raises InputProblems with everything that is wrong.
    """
    return case_of(parse_file(path, str(path), plain_dates=True), kb)


def read_case_line(raw: bytes, shown_as: str, number: int, kb: KnowledgeBase) -> Case:
    """Read and check one line; `shown_as` names the file, `number` is the line, from 1.

    As strict as a case file: fields named twice, NaN, invisible characters and the like are refused.
    Raises InputProblems with everything that is wrong.
    """
    try:
        data = _read_line(raw)
    except Refused as refused:
        raise InputProblems([refused.at(f"{shown_as}:{number}")]) from None
    return case_of(Parsed(shown_as, data, {(): number}), kb)


def _read_line(raw: bytes) -> Any:
    if len(raw) > MAX_BYTES:
        raise Refused("too-big", f"the line is longer than {MAX_BYTES} bytes")
    data = strict_json(raw)
    for text in texts_of(data):
        found = invisible_character(text)
        if found is not None:
            raise Refused("bad-character", f"the text contains {found}; delete it")
    return data


def case_of(parsed: Parsed, kb: KnowledgeBase) -> Case:
    """Check a case that was parsed already; see read_case."""
    data = parsed.data
    if not isinstance(data, dict):
        text = f"a case has the fields {', '.join(_FIELDS)}"
        raise InputProblems([Problem(parsed.place(), "bad-type", text)])
    problems = [
        Problem(
            parsed.place(field),
            "unknown-field",
            f"`{field}` is not a field of a case"
            f"{did_you_mean(field, _FIELDS, '; fields: ' + ', '.join(_FIELDS))}",
        )
        for field in data
        if field not in _FIELDS
    ]
    name = _name(data, parsed, problems)
    as_of = _as_of(data, parsed, problems)
    raw = _mapping(data, "answers", parsed, problems)
    if "answers" not in data:
        text = "a case needs `answers`, a mapping from fact to value (it may be {})"
        problems.append(Problem(parsed.place(), "missing-field", text))
    answers, wrong = check_answers(raw, kb, lambda field: parsed.place("answers", field))
    problems.extend(wrong)
    expect = _mapping(data, "expect", parsed, problems)
    reasons = _reasons(data, parsed, problems)
    decisions = read_decisions(data.get("decisions", []), kb, parsed, problems, client=name)
    wishes = read_wishes(data.get("week", {}), kb, parsed, problems)
    overrides = read_overrides(data.get("overrides", []), kb, parsed, problems)
    if problems:
        raise InputProblems(problems)
    assert as_of is not None
    return Case(name, as_of, answers, expect, reasons, decisions, wishes, overrides)


def _name(data: dict[str, Any], parsed: Parsed, problems: list[Problem]) -> str:
    name = data.get("name")
    if isinstance(name, str) and name.strip() and "\n" not in name and len(name) <= MAX_NAME:
        return name
    wrong = "is missing" if "name" not in data else f"is `{shown(name)}`"
    text = f"`name` {wrong}; allowed: one line of text"
    problems.append(Problem(parsed.place("name"), "bad-value", text))
    return ""


def _as_of(data: dict[str, Any], parsed: Parsed, problems: list[Problem]) -> dt.date | None:
    raw = data.get("as_of")
    try:
        if isinstance(raw, str) and len(raw) == len("2026-01-31"):
            return dt.date.fromisoformat(raw)
    except ValueError:
        pass
    wrong = "is missing" if "as_of" not in data else f"is `{shown(raw)}`"
    text = f"`as_of` {wrong}; allowed: a date such as 2026-01-31"
    problems.append(Problem(parsed.place("as_of"), "bad-value", text))
    return None


def _mapping(
    data: dict[str, Any], field: str, parsed: Parsed, problems: list[Problem]
) -> dict[str, Any]:
    value = data.get(field, {})
    if isinstance(value, dict):
        return value
    text = f"`{field}` is `{shown(value)}`; allowed: a mapping from fact to value"
    problems.append(Problem(parsed.place(field), "bad-type", text))
    return {}


def _reasons(
    data: dict[str, Any], parsed: Parsed, problems: list[Problem]
) -> dict[str, tuple[str, ...]]:
    reasons: dict[str, tuple[str, ...]] = {}
    for fact, rules in _mapping(data, "expect_reasons", parsed, problems).items():
        if isinstance(rules, list) and all(isinstance(rule, str) for rule in rules):
            reasons[fact] = tuple(rules)
        else:
            text = f"`{fact}` is `{shown(rules)}`; allowed: a list of rule ids"
            problems.append(Problem(parsed.place("expect_reasons", fact), "bad-type", text))
    return reasons
