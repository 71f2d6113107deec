"""`whyplan schema NAME`: the JSON Schema of a plan, or of a kind of file in the rule book."""

import argparse
import json

from assistant.cli.files import write_output
from assistant.cli.options import OUT, RULES, option
from assistant.clients.book import knowledge
from assistant.knowledge.schema import schemas
from assistant.report.plan_schema import plan_schema

PLAN = "plan"

_KINDS = tuple(name.removesuffix(".schema.json") for name in schemas())
OPTIONS = (option("name", "what to describe", choices=(PLAN, *_KINDS)), RULES, OUT)


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    if args.name == PLAN:
        schema = plan_schema(knowledge(args.rules, None))
    else:
        schema = schemas()[f"{args.name}.schema.json"]
    write_output(args.out, (json.dumps(schema, ensure_ascii=False, indent=2) + "\n").encode())
    return 0
