"""Decision tables: one source of truth for a family of rules that differ in a few cells."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import Parsed
from assistant.model.book import Table
from assistant.model.errors import Problem
from assistant.model.rules import Rule

_COLUMN_PARTS = ("when", "unless", "excused_by", "then")
_NAME_IN_TEXT = re.compile(r"\$([a-z][a-z0-9_]*)")


@dataclass(frozen=True)
class RowRule:
    """The raw rule of one row. `row` is its position in the table, for line numbers."""

    row: int
    raw: dict[str, Any]


def expand(table: Table, parsed: Parsed) -> tuple[list[RowRule], list[Problem]]:
    """Return one raw rule for every row of a table, and what is wrong with the table."""
    rules: list[RowRule] = []
    problems: list[Problem] = []
    fields = set(Rule.model_fields)
    for name in sorted(set(table.columns) & (fields | {"id"})):
        text = f"column `{name}` has the name of a rule field; rename the column"
        problems.append(Problem(parsed.place("columns", name), "bad-column", text))
    for name in sorted(set(table.shared) - (fields - {"id", "stage"})):
        hint = did_you_mean(name, fields - {"id", "stage"})
        text = f"`shared.{name}` is not a rule field that rows can share{hint}"
        problems.append(Problem(parsed.place("shared", name), "unknown-field", text))
    if problems:
        return [], problems
    for number, row in enumerate(table.rows):
        found = list(_row_problems(table, row, parsed, number))
        problems.extend(found)
        if not found:
            rules.append(RowRule(number, _rule_of(table, row)))
    return rules, problems


def _row_problems(
    table: Table, row: dict[str, Any], parsed: Parsed, number: int
) -> Iterator[Problem]:
    if not isinstance(row.get("id"), str):
        text = "every row needs an `id` in text, e.g. id: FIRST"
        yield Problem(parsed.place("rows", number), "missing-field", text)
    known = set(table.columns) | set(Rule.model_fields)
    for name in row:
        if name not in known:
            hint = did_you_mean(name, known, f"; columns: {', '.join(sorted(table.columns))}")
            text = f"`{name}` is neither a column nor a rule field{hint}"
            yield Problem(parsed.place("rows", number, name), "unknown-field", text)
    for name in table.columns:
        if name not in row:
            text = f"column `{name}` has no cell; write `any` where the column says nothing"
            yield Problem(parsed.place("rows", number), "missing-cell", text)
    texts = {**table.shared, **row}
    for field in ("title", "because", "client_because"):
        for name in _NAME_IN_TEXT.findall(str(texts.get(field, ""))):
            if name not in table.columns:
                text = f"`${name}` in `{field}` is not a column{did_you_mean(name, table.columns)}"
                yield Problem(parsed.place("rows", number), "unknown-column", text)


def _rule_of(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    title = f"{table.title}: {in_words(row['id'])}"
    rule: dict[str, Any] = {"title": title, **table.shared}
    own = {name: value for name, value in row.items() if name not in {*table.columns, "id"}}
    for fields in (_from_columns(table, row), own):
        for field, value in fields.items():
            shared = rule.get(field)
            both_lists = isinstance(shared, list) and isinstance(value, list)
            rule[field] = [*shared, *value] if both_lists and shared is not None else value
    rule["id"] = f"{table.id}-{row['id']}"
    rule["stage"] = table.stage
    for field in ("title", "because", "client_because"):
        if isinstance(rule.get(field), str):
            rule[field] = _NAME_IN_TEXT.sub(lambda m: spelled(row[m[1]]), rule[field])
    return rule


def _from_columns(table: Table, row: dict[str, Any]) -> dict[str, list[Any]]:
    """The clauses and conclusions that a row's cells make."""
    parts: dict[str, list[Any]] = {}
    for name, column in table.columns.items():
        cell = row[name]
        if cell == "any":
            continue
        for part in _COLUMN_PARTS:
            template = getattr(column, part)
            if template is not None:
                cells = cell if part == "then" and isinstance(cell, list) else [cell]
                parts.setdefault(part, []).extend(_fill(template, each) for each in cells)
    return parts


def _fill(template: Any, cell: Any) -> Any:
    """Put the cell wherever the template says "$"; a lone "$" keeps the cell's type."""
    if template == "$":
        return cell
    if isinstance(template, str):
        return template.replace("$", spelled(cell))
    if isinstance(template, dict):
        return {name: _fill(value, cell) for name, value in template.items()}
    if isinstance(template, list):
        return [_fill(value, cell) for value in template]
    return template


def in_words(item: str) -> str:
    """An id as words."""
    return item.replace("_", " ").replace("-", " ").lower()


def spelled(cell: Any) -> str:
    """A cell as it stands in a sentence."""
    if isinstance(cell, list):
        return ", ".join(spelled(each) for each in cell)
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return f"{cell:g}"
    return str(cell)
