"""A coach's own settings: parameter values within the range the knowledge base allows.

A settings file holds `parameters:` and, if it was written by `whyplan rules set`, `changes:`, a
list of who set what to what, when and why.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.strict_yaml import parse_bytes
from assistant.model.errors import InputProblems, Problem
from assistant.model.parameters import Change, Parameter

PARAMETERS, CHANGES = "parameters", "changes"
# How the names of a range's numbers end, from the low end up.
_ENDS = ("low", "aim", "high")
CHANGE_FIELDS = ("parameter", "was", "now", "by", "day", "reason")
_FIELDS = f"`{PARAMETERS}` and `{CHANGES}`"


def read_overlay(
    raw: bytes, shown_as: str, parameters: Mapping[str, Parameter]
) -> tuple[dict[str, float], dict[str, Change]]:
    """Return parameter values by id from a file `parameters: {<id>: <number>}`, and who set them and why.

    The changes told in the file are checked for their fields; they change no plan. One that does not
    tell of the value that holds is left out.

    Raises InputProblems for unknown parameters, and for values that are no numbers, out of range, or a low end
    above its aim or high end.
    """
    parsed = parse_bytes(raw, shown_as)
    data = parsed.data
    if not isinstance(data, dict) or not isinstance(data.get(PARAMETERS), dict):
        text = "own settings are written `parameters:` with a mapping from id to number under it"
        raise InputProblems([Problem(parsed.place(), "bad-type", text)])
    problems = [
        Problem(parsed.place(field), "unknown-field", f"`{field}` is not read; only {_FIELDS}")
        for field in data
        if field not in {PARAMETERS, CHANGES}
    ]
    problems.extend(_changes_problems(data.get(CHANGES, []), parameters, parsed))
    own: dict[str, float] = {}
    for name, value in data[PARAMETERS].items():
        problem = _problem(name, value, parameters)
        if problem is None:
            own[name] = float(value)
        else:
            problems.append(Problem(parsed.place(PARAMETERS, name), *problem))
    problems.extend(
        Problem(parsed.place(PARAMETERS, name), "out-of-order", text)
        for name, text in _out_of_order(own, parameters)
    )
    if problems:
        raise InputProblems(problems)
    signed: dict[str, Change] = {}
    for change in changes_in(data):
        if own.get(change.parameter) == change.now:
            signed.setdefault(change.parameter, change)
    return dict(sorted(own.items())), signed


def changes_in(data: Mapping[str, Any]) -> list[Change]:
    """Return the changes told in a settings file, in its order: the newest first."""
    return [Change(**{**each, "day": str(each["day"])}) for each in data.get(CHANGES) or []]


def _changes_problems(
    changes: object, parameters: Mapping[str, Parameter], parsed: Parsed
) -> Iterator[Problem]:
    if not isinstance(changes, list):
        text = "`changes` is a list; begin every entry with `- `"
        yield Problem(parsed.place(CHANGES), "bad-type", text)
        return
    for number, change in enumerate(changes):
        place = parsed.place(CHANGES, number)
        if not isinstance(change, dict) or set(change) != set(CHANGE_FIELDS):
            text = f"a change has the fields {', '.join(CHANGE_FIELDS)}, each once; correct it"
            yield Problem(place, "bad-change", text)
        elif change["parameter"] not in parameters:
            hint = did_you_mean(str(change["parameter"]), parameters)
            text = f"`{shown(change['parameter'])}` is not a parameter{hint}"
            yield Problem(place, "unknown-parameter", text)
        elif not str(change["reason"]).strip() or not str(change["by"]).strip():
            yield Problem(place, "bad-change", "say who changed it and why; fill `by` and `reason`")


def _out_of_order(
    own: Mapping[str, float], parameters: Mapping[str, Parameter]
) -> Iterator[tuple[str, str]]:
    """Yield own numbers that turn a range around: the low end, the aim and the high end go upwards."""
    for name, value in own.items():
        stem, _, end = name.rpartition("_")
        for other in _ENDS if end in _ENDS else ():
            sibling = parameters.get(f"{stem}_{other}")
            if sibling is None:
                continue
            beside = own.get(sibling.id, sibling.values[-1].value)
            upwards = _ENDS.index(other) - _ENDS.index(end)
            if (beside - value) * upwards < 0:
                side = "more" if value > beside else "less"
                yield (
                    name,
                    f"`{name}` is {value:g}, {side} than `{sibling.id}` ({beside:g}); set both, in order",
                )
                break


def _problem(
    name: str, value: object, parameters: Mapping[str, Parameter]
) -> tuple[str, str] | None:
    parameter = parameters.get(name)
    if parameter is None:
        hint = did_you_mean(name, parameters)
        return "unknown-parameter", f"`{name}` is not a parameter{hint}"
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return "bad-type", f"`{name}` is `{shown(value)}`; allowed: a number in {parameter.unit}"
    low, high = parameter.range
    if not low <= value <= high:
        return (
            "out-of-range",
            f"`{name}` is {value:g}; allowed: {low:g} to {high:g} {parameter.unit}",
        )
    return None
