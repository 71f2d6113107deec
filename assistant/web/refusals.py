"""What was wrong with what was typed, in the names the page gives its fields."""

import re

from assistant.model.errors import InputProblems, Problem

# What a field is called on the page, where the commands name their option.
_FIELDS = {
    "--by": "Who",
    "--reason": "Why",
    "--to": "New value",
    "--on": "Day",
    "--since": "First day",
    "--until": "Last day",
    "--line": "Line",
    "--role": "As what",
    "--set-aside": "Decision",
    "--cleared": "Decision",
    "--seen": "What they saw",
    "--timezone": "Time zone",
    "--time": "Begins at",
    "--weeks": "Weeks",
    "--withdraw": "Number",
    "--accept": "Review",
    "NAME": "Name",
    "NUMBER": "Number",
    "EXERCISE": "Exercise",
    "KIND": "What it is",
}
# Units as they stand in the rule book, such as {sets}/wk.
_UNIT = re.compile(r"\{([a-z]+)\}")
_OPTION = re.compile(r"--[a-z-]+")


def told(problems: InputProblems) -> list[str]:
    """Return what was wrong, a line each, with the fields named as the page names them."""
    return [_line(problem) for problem in problems.problems]


def _line(problem: Problem) -> str:
    place = _FIELDS.get(problem.place, problem.place)
    text = _OPTION.sub(_field, problem.text)
    for name in _UNIT.findall(text):
        text = text.replace(f"{{{name}}}/wk", f"{name} a week").replace(f"{{{name}}}", name)
    return f"{place}: {text}"


def _field(match: re.Match[str]) -> str:
    return _FIELDS.get(match.group(), match.group())
