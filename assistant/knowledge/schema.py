"""JSON Schema of every kind of file in `rules/`, for completion and checking in editors.

Generated from the models, so it cannot say anything else than the loader. Run
`python -m assistant.knowledge.schema` after changing a model; a test compares the files.
"""

import json
import sys
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from assistant.knowledge.build import LISTS, OF_A_PATTERN, WHOLE
from assistant.knowledge.locate import rules_directory
from assistant.model.base import Document
from assistant.model.book import Book, Table
from assistant.model.knowledge import FILES

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_WHOLE_FILES: dict[str, type[Document]] = {
    "book": Book,
    "table": Table,
    **{kind: model for kind, (model, _) in WHOLE.items()},
    **OF_A_PATTERN,
    **FILES,
}


def schemas() -> dict[str, dict[str, Any]]:
    """Return the schemas by file name."""
    made = {name: _schema(model) for name, model in _WHOLE_FILES.items()}
    for name, lists in LISTS.items():
        definitions: dict[str, Any] = {}
        properties: dict[str, Any] = {}
        for field, model in lists.items():
            schema = _schema(model)
            definitions.update(schema.pop("$defs", {}))
            definitions[model.__name__] = schema
            items = {"$ref": f"#/$defs/{model.__name__}"}
            properties[field] = {"type": "array", "items": items}
        made[name] = {
            "type": "object",
            "properties": properties,
            "additionalProperties": False,
            "$defs": definitions,
        }
    return {f"{name}.schema.json": {"$schema": DIALECT, **made[name]} for name in sorted(made)}


def _schema(model: type[Document]) -> dict[str, Any]:
    return TypeAdapter(model).json_schema(by_alias=True)


def text_of(schema: dict[str, Any]) -> str:
    """A schema as it stands in its file."""
    return json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n"


def write_schemas(folder: Path) -> list[Path]:
    """Write all schemas into a folder and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, schema in schemas().items():
        path = folder / name
        path.write_text(text_of(schema), encoding="utf-8")
        paths.append(path)
    return paths


def main() -> int:
    """Write the schemas beside the shipped rules."""
    for path in write_schemas(rules_directory() / "schema"):
        sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
