"""`whyplan schema NAME`: the JSON Schema of a plan, or of a kind of file in the rule book."""

import argparse
import json
from pathlib import Path

from assistant.cli.common import knowledge
from assistant.cli.files import write_output
from assistant.knowledge.schema import schemas
from assistant.report.plan_schema import plan_schema

PLAN = "plan"


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("schema", help="print the JSON Schema of plans or of rule files")
    names = [name.removesuffix(".schema.json") for name in schemas()]
    parser.add_argument("name", choices=(PLAN, *names), help="what to describe")
    parser.add_argument("--rules", type=Path, metavar="DIR", help="another rule book")
    parser.add_argument("--out", type=Path, metavar="FILE", help="write there, not to the screen")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    if args.name == PLAN:
        schema = plan_schema(knowledge(args.rules, None))
    else:
        schema = schemas()[f"{args.name}.schema.json"]
    write_output(args.out, (json.dumps(schema, ensure_ascii=False, indent=2) + "\n").encode())
    return 0
