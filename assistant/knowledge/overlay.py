"""A coach's own settings: parameter values within the range the knowledge base allows."""

from collections.abc import Mapping

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.strict_yaml import parse_bytes
from assistant.model.errors import InputProblems, Problem
from assistant.model.parameters import Parameter


def read_overlay(
    raw: bytes, shown_as: str, parameters: Mapping[str, Parameter]
) -> dict[str, float]:
    """Return parameter values by id from a file `parameters: {<id>: <number>}`.

    Raises InputProblems for unknown parameters and for values that are no numbers or out of range.
    """
    parsed = parse_bytes(raw, shown_as)
    data = parsed.data
    if not isinstance(data, dict) or not isinstance(data.get("parameters"), dict):
        text = "own settings are written `parameters:` with a mapping from id to number under it"
        raise InputProblems([Problem(parsed.place(), "bad-type", text)])
    problems = [
        Problem(parsed.place(field), "unknown-field", f"`{field}` is not read; only `parameters`")
        for field in data
        if field != "parameters"
    ]
    own: dict[str, float] = {}
    for name, value in data["parameters"].items():
        problem = _problem(name, value, parameters)
        if problem is None:
            own[name] = float(value)
        else:
            problems.append(Problem(parsed.place("parameters", name), *problem))
    if problems:
        raise InputProblems(problems)
    return dict(sorted(own.items()))


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
