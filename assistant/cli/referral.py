"""`whyplan referral CASE`: the one-page note the client may hand to a professional."""

import argparse

from assistant.cli.person import person_of
from assistant.plan.views import flag_records
from assistant.report.referral import referral_note


def run(args: argparse.Namespace) -> int:
    """Print the note; say so where nobody is asked to look."""
    person = person_of(args, args.who)
    narrator = person.narrator("coach", imperial=args.imperial)
    note = referral_note(narrator, person.case.name)
    if note is not None:
        print(note, end="")
    elif flag_records(narrator.kb, narrator.run):
        print(
            "Nobody is asked to look, so there is no note; the plan says what is left out or limited."
        )
    else:
        print("Nobody is asked to look: no note is needed.")
    return 0
