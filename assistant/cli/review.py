"""`whyplan review`: what the weeks say, and the one thing to change; from a file or the record."""

import argparse
import sys

from assistant.cli.common import say_next
from assistant.cli.person import case_file, person_of
from assistant.cli.record import desk_of
from assistant.clients.kept import Why
from assistant.clients.person import Person
from assistant.clients.place import open_since
from assistant.clients.reviewing import accept, accepted_today, refuse_second
from assistant.model.derivation import word_in
from assistant.model.errors import InputProblems, Problem
from assistant.plan.agreeing import Accepting, accepting
from assistant.plan.language import ENGLISH
from assistant.plan.phrases import wrapped
from assistant.plan.warnings import open_warnings
from assistant.report.accepting_text import accepting_text
from assistant.report.message_text import message_text
from assistant.report.review_text import review_text, warnings_text


def run(args: argparse.Namespace) -> int:
    """Print the review; 1 where it refers or the record holds nothing yet."""
    if args.accept and args.record:
        text = "a review of a file has no record to keep it in; leave out --record"
        raise InputProblems([Problem("--accept", "no-record", text)])
    if case_file(args.who) is not None and not args.record:
        text = "a case file needs its record beside it; add --record FILE"
        raise InputProblems([Problem(args.who, "no-record", text)])
    if args.language != ENGLISH and not args.message:
        text = "only the message is in the client's language; add --message"
        raise InputProblems([Problem("--language", "english-only", text)])
    person = person_of(args, args.who).looking_again()
    made, found = person.planner, person.found
    if found is None:
        print(f"No review: the record holds nothing up to {made.on.isoformat()}.")
        return 1
    if args.accept:
        refuse_second(person)
    narrator = person.narrator(args.audience, imperial=args.imperial)
    run_ = narrator.run
    assert person.history is not None  # nothing would have been found
    done = accepting(made, person.case, person.history, run_)
    if args.message:
        print(
            "\n\n".join("\n".join(wrapped(part, "", "")) for part in _message(args, person, done))
        )
    else:
        print(review_text(made.plan(person.case, narrator), narrator, found), end="")
        since = open_since(person.versions, narrator) if person.versions else {}
        print(warnings_text(open_warnings(narrator, since), narrator), end="")
        current = person.versions[-1].digest if person.versions else None
        print(accepting_text(done, narrator, current), end="")
    if args.accept:
        desk = desk_of(args)
        with desk.opened() as records:
            version = accept(desk, records, args.who, Why("review", args.by, args.reason))
        told = f"Kept as agreed on {made.on.isoformat()}: version {version.number} of the plan."
        # What stands on the screen under --message is for the client alone.
        print(told, file=sys.stderr if args.message else sys.stdout)
    if not args.message and args.audience == "coach":
        decided = word_in(run_.facts, "review.decision")
        _say_next(args, decided, accepted=bool(accepted_today(person)))
    decision = run_.facts.get("review.decision")
    return 1 if decision is None or decision.value == "refer" else 0


def _message(args: argparse.Namespace, person: Person, done: Accepting) -> tuple[str, ...]:
    """Return the message to the client in their language, a paragraph each."""
    away = next((a.kind for a in person.case.week.away if a.covers(person.planner.on)), None)
    return message_text(
        person.planner, person.case.name, done, away, args.language, imperial=args.imperial
    )


def _say_next(args: argparse.Namespace, decision: str, *, accepted: bool) -> None:
    """Say what a coach does after a review, by what it decided and whether that is kept."""
    record = [] if args.record is None else ["--record", str(args.record)]
    message = ["review", args.who, *record, "--message"]
    if args.accept:
        say_next(["plan", args.who], ["plan", args.who, "--for", "client"], db=args.db)
    elif decision == "refer":
        say_next(["referral", args.who], message, db=args.db)
    elif record or accepted:
        say_next(message, db=args.db)
    else:
        # The day of the next look is agreed with the rest, so a message comes with accepting.
        accept = ["review", args.who, "--accept"]
        say_next(accept, [*accept, "--message"], db=args.db)
