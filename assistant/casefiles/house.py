"""A house's own settings file with one number changed and the reason kept; nothing else is touched."""

import datetime as dt
import json
import math

from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.overlay import CHANGES, PARAMETERS
from assistant.knowledge.strict_yaml import parse_bytes
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Change

_HEAD = "# This house's own settings: numbers within the ranges the rule book allows.\n"
_MOST_TEXT = 300


def change_of(
    kb: KnowledgeBase, parameter: str, value: float, on: dt.date, *, by: str, reason: str
) -> Change:
    """Return a change of a number from what holds on a day; an unknown number changes nothing yet."""
    was, known = value, kb.parameters.get(parameter)
    if known is not None:
        was = kb.overlay.get(parameter, (known.in_force(on) or known.values[0]).value)
    return Change(parameter, was, value, by, on.isoformat(), reason)


def checked_change(kb: KnowledgeBase, change: Change) -> Change:
    """Return the change if the book allows it. Raises InputProblems with all that is wrong."""
    parameter = kb.parameters.get(change.parameter)
    if parameter is None:
        hint = did_you_mean(change.parameter, kb.parameters)
        text = f"`{change.parameter}` is not a parameter{hint}"
        raise InputProblems([Problem("PARAMETER", "unknown-parameter", text)])
    problems: list[Problem] = []
    low, high = parameter.range
    allowed = f"{low:g} to {high:g} {parameter.unit} in steps of {parameter.step:g}"
    if not (math.isfinite(change.now) and low <= change.now <= high):
        text = f"`{parameter.id}` would be {change.now:g}; allowed: {allowed}"
        problems.append(Problem("VALUE", "out-of-range", text))
    elif change.now not in {low, high} and not _on_step(
        change.now, parameter.values[-1].value, parameter.step
    ):
        text = f"`{parameter.id}` would be {change.now:g}; allowed: {allowed}"
        problems.append(Problem("VALUE", "off-step", text))
    elif change.now == change.was:
        text = f"`{parameter.id}` is {change.was:g} already; name another value"
        problems.append(Problem("VALUE", "no-change", text))
    for name, words in (("--by", change.by), ("--reason", change.reason)):
        if not words.strip() or not words.isprintable() or len(words) > _MOST_TEXT:
            text = f"say it in one line of 1 to {_MOST_TEXT} printable characters"
            problems.append(Problem(name, "bad-value", text))
    if change.reason.strip() and not kb.overrides.reasons.tells(change.reason):
        text = f"`{change.reason}` tells nobody why; {kb.overrides.reasons.wanted}"
        problems.append(Problem("--reason", "empty-reason", text))
    if problems:
        raise InputProblems(problems)
    return change


def _on_step(value: float, from_value: float, step: float) -> bool:
    steps = (value - from_value) / step
    return math.isclose(steps, round(steps), abs_tol=1e-6)


def with_change(text: str, shown_as: str, change: Change) -> str:
    """Return the settings file's text with the change; "" stands for a new file.

    Lines that have nothing to do with the number stay as they are, comments included. The newest
    change stands first. Raises InputProblems where the file is written too tightly to be edited.
    """
    if not text.strip():
        text = f"{_HEAD}{PARAMETERS}:\n{CHANGES}:\n"
        lines = text.splitlines()
        entry = lines.index(f"{PARAMETERS}:")
        lines.insert(entry + 1, _setting(change, "  "))
        lines.append(_told(change))
        return "\n".join(lines) + "\n"
    parsed = parse_bytes(text.encode(), shown_as)
    lines = text.splitlines()
    number = next((n for n, line in enumerate(lines) if _opens(line, PARAMETERS)), None)
    if number is None or any(line.startswith(f"{CHANGES}: ") for line in lines):
        wanted = f"`{PARAMETERS}:` and `{CHANGES}:`"
        told = f"write {wanted} alone on their lines, one entry a line below, so it can be edited"
        raise InputProblems([Problem(parsed.place(), "bad-layout", told)])
    if (PARAMETERS, change.parameter) in parsed.lines:
        at = parsed.lines[PARAMETERS, change.parameter] - 1
        lines[at] = _setting(change, lines[at][: len(lines[at]) - len(lines[at].lstrip())])
    else:
        lines.insert(number + 1, _setting(change, _indent(lines, number)))
    log = next((n for n, line in enumerate(lines) if _opens(line, CHANGES)), None)
    if log is None:
        lines.extend([f"{CHANGES}:", _told(change)])
    else:
        lines.insert(log + 1, _told(change, _indent(lines, log)))
    return "\n".join(lines) + "\n"


def _opens(line: str, field: str) -> bool:
    return line.partition("#")[0].rstrip() == f"{field}:"


def _indent(lines: list[str], number: int) -> str:
    """The spaces before the first entry under a line."""
    for line in lines[number + 1 :]:
        if line.strip() and not line.lstrip().startswith("#"):
            return line[: len(line) - len(line.lstrip())]
    return "  "


def _setting(change: Change, indent: str) -> str:
    return f"{indent}{change.parameter}: {change.now:.12g}"


def _told(change: Change, indent: str = "  ") -> str:
    told = (
        f"parameter: {change.parameter}, was: {change.was:.12g}, now: {change.now:.12g}, "
        f"by: {_text(change.by)}, day: {_text(change.day)}, reason: {_text(change.reason)}"
    )
    return f"{indent}- {{{told}}}"


def _text(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)
