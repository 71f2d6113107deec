"""`whyplan picture CASE FACT`: how one conclusion came about, drawn."""

import argparse
from pathlib import Path

from assistant.cli.common import add_audience_option, add_common_options
from assistant.cli.person import add_person_argument, asked_about
from assistant.cli.session_only import steps_aside
from assistant.explain import explanation_keys
from assistant.explain.picture import Node, picture
from assistant.model.errors import InputProblems, Problem
from assistant.report.picture_mermaid import picture_mermaid
from assistant.report.picture_svg import picture_svg
from assistant.report.picture_text import outline


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("picture", help="draw how a conclusion came about")
    add_person_argument(parser)
    parser.add_argument("asked", metavar="LINE-OR-FACT", help="e.g. energy.target_kcal_per_day")
    parser.add_argument(
        "--format", choices=("svg", "mermaid", "text"), default="svg", help="form of output"
    )
    parser.add_argument("--out", type=Path, metavar="FILE", help="write to a new file")
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the picture, or write it to a file."""
    one = asked_about(args)
    if args.out is not None and steps_aside(
        one.person.case, one.person.planner.kb, voice=args.audience
    ):
        return 1
    facts = one.narrator.run.facts
    known = [key for key in explanation_keys(one.plan, args.asked) if key in facts]
    if not known:
        text = "there is no conclusion to draw; `whyplan why-not` says what is missing"
        raise InputProblems([Problem(args.asked, "nothing-to-draw", text)])
    text = _drawn(picture(one.person.planner.compiled, one.narrator, known[0]), args.format)
    if args.out is None:
        print(text, end="")
    else:
        _write(args.out, text)
        print(f"Picture written to {args.out}")
    return 0


def _drawn(root: Node, form: str) -> str:
    if form == "svg":
        return picture_svg(root)
    return picture_mermaid(root) if form == "mermaid" else "\n".join(outline(root)) + "\n"


def _write(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
    except FileExistsError as error:
        told = "this file exists already; choose another name with --out"
        raise InputProblems([Problem(str(path), "file-exists", told)]) from error
    except OSError as error:
        told = f"the picture cannot be written here ({error.strerror}); choose another --out"
        raise InputProblems([Problem(str(path), "not-writable", told)]) from error
