"""`whyplan picture CASE FACT`: how one conclusion came about, drawn."""

import argparse

from assistant.cli.common import steps_aside
from assistant.cli.files import free_path, write_file
from assistant.cli.person import asked_about
from assistant.explain.asked import meant
from assistant.explain.picture import Node, picture
from assistant.model.errors import InputProblems, Problem
from assistant.report.picture_mermaid import picture_mermaid
from assistant.report.picture_svg import picture_svg
from assistant.report.picture_text import outline


def run(args: argparse.Namespace) -> int:
    """Print the picture, or write it to a file."""
    one = asked_about(args)
    if args.out is not None and steps_aside(
        one.person.case, one.person.planner.kb, voice=args.audience
    ):
        return 1
    facts, found = one.narrator.run.facts, meant(one.plan, one.narrator, args.asked)
    known = [key for key in found.keys if key in facts]
    if not known:
        text = "there is no conclusion to draw; `whyplan why-not` says what is missing"
        raise InputProblems([Problem(args.asked, "nothing-to-draw", text)])
    text = _drawn(picture(one.person.planner.compiled, one.narrator, known[0]), args.format)
    if args.out is None:
        print(text, end="")
    else:
        cannot = "the picture cannot be written here ({}); choose another --out"
        write_file(free_path(args.out), text, cannot)
        print(f"Picture written to {args.out}")
    return 0


def _drawn(root: Node, form: str) -> str:
    if form == "svg":
        return picture_svg(root)
    return picture_mermaid(root) if form == "mermaid" else "\n".join(outline(root)) + "\n"
