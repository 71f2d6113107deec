"""`whyplan referral CASE`: the one-page note the client may hand to a professional."""

import argparse
from pathlib import Path

from assistant.cli.common import add_common_options, case_and_planner
from assistant.plan.views import flag_records
from assistant.report.referral import referral_note


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("referral", help="print a note for the professional")
    parser.add_argument("case", type=Path, metavar="CASE", help="case file (YAML)")
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the note; say so where nobody is asked to look."""
    case, planner = case_and_planner(args, args.case)
    narrator = planner.narrator(planner.run(case), "coach", imperial=args.imperial)
    note = referral_note(narrator, case.name)
    if note is not None:
        print(note, end="")
    elif flag_records(narrator.kb, narrator.run):
        print(
            "Nobody is asked to look, so there is no note; the plan says what is left out or limited."
        )
    else:
        print("Nobody is asked to look: no note is needed.")
    return 0
