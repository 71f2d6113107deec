"""`whyplan schema NAME`: the JSON Schema of a plan, or of a kind of file in the rule book."""

import argparse
import json
from pathlib import Path

from assistant.cli.files import write_output
from assistant.clients.book import knowledge
from assistant.knowledge.schema import schemas
from assistant.report.plan_schema import plan_schema

PLAN = "plan"

# The plan itself goes before the file of its layout, which has the same name.
NAMES = tuple(dict.fromkeys((PLAN, *(name.removesuffix(".schema.json") for name in schemas()))))


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    write_output(args.out, schema_text(args.name, args.rules).encode())
    return 0


def schema_text(name: str, rules: Path | None) -> str:
    """Return a schema by its name."""
    is_plan = name == PLAN
    schema = plan_schema(knowledge(rules, None)) if is_plan else schemas()[f"{name}.schema.json"]
    return json.dumps(schema, ensure_ascii=False, indent=2) + "\n"
