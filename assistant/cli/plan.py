"""`whyplan plan CASE...`: the plan, as text or JSON, for the coach or the client."""

import argparse
import json
from pathlib import Path
from typing import Any

from assistant.cli.common import add_audience_option, add_common_options, case_and_planner
from assistant.report.plan_json import plan_document, plan_json
from assistant.report.text import plan_text


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("plan", help="print the plan for one or more cases")
    parser.add_argument("cases", nargs="+", type=Path, metavar="CASE", help="case file (YAML)")
    parser.add_argument("--format", choices=("text", "json"), default="text", help="form of output")
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the plans; 1 if one of them is withheld altogether."""
    documents: list[dict[str, Any]] = []
    withheld = False
    for path in args.cases:
        case, planner = case_and_planner(args, path)
        narrator = planner.narrator(planner.run(case), args.audience, imperial=args.imperial)
        plan = planner.plan(case, narrator)
        level = narrator.run.facts.get("screen.level")
        withheld = withheld or (level is not None and level.value == "stop")
        if args.format == "text":
            print(("\n\n" if documents else "") + plan_text(plan), end="")
            documents.append({})
        elif len(args.cases) == 1:
            print(plan_json(plan, narrator), end="")
        else:
            documents.append(plan_document(plan, narrator))
    if args.format == "json" and len(args.cases) > 1:
        print(json.dumps(documents, ensure_ascii=False, indent=2))
    return 1 if withheld else 0
