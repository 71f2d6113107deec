"""`whyplan phases`: build, hold and fat loss laid back from the date to be ready for."""

import argparse

from assistant.cli.person import asked_about
from assistant.report.text import sections_text

SECTIONS = ("first", "phases", "doubt")


def run(args: argparse.Namespace) -> int:
    """Print the phases; 1 where there is no date to lay them back from, or nothing to lay."""
    plan = asked_about(args).plan
    print(sections_text(plan, SECTIONS, "Phases"), end="")
    if any(section.id == "phases" for section in plan.sections):
        return 0
    print("\nNo phases: there is no date ahead, the goal is to hold, or the screen comes first.")
    return 1
