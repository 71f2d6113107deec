"""`whyplan client plan`: the versions of a client's plan, and two of them beside each other."""

import argparse
from collections.abc import Sequence

from assistant.cli.common import checked_number, say_next
from assistant.cli.person import person_of
from assistant.clients.told import changed
from assistant.model.version import Version
from assistant.plan.phrases import underlined, wrapped
from assistant.plan.sentences import Narrator
from assistant.report.place_text import CAUSE_WORDS, place_text


def run_plan(args: argparse.Namespace) -> int:
    """Print the current version and what it changed, all of them, or two beside each other."""
    args.who = args.name
    person = person_of(args, args.name)
    narrator = person.narrator("coach", imperial=args.imperial)
    versions = person.versions
    if not versions:
        print(f"No plan is kept for {person.case.name} by {narrator.on.isoformat()}.")
        return 1
    title = f"Plan of {person.case.name}"
    if args.between is not None:
        what, count = "version of this plan", len(versions)
        one, other = (
            versions[checked_number("--between", number, count, what) - 1]
            for number in args.between
        )
        print("\n".join([title, *_beside(one, other, narrator)]))
        return 0
    if args.history:
        print("\n".join([title, *_history(versions, narrator)]))
        return 0
    print(title)
    print("\n".join(place_text(person.place(narrator), "coach")))
    before = versions[-2] if len(versions) > 1 else None
    if before is not None:
        print("\n".join(_beside(before, versions[-1], narrator)))
    say_next(["plan", args.name], ["client", "plan", args.name, "--history"], db=args.db)
    return 0


def _history(versions: Sequence[Version], narrator: Narrator) -> list[str]:
    """Return every version with what it changed, the first one first."""
    rows: list[str] = []
    for before, version in zip((None, *versions), versions, strict=False):
        rows += underlined(_title(version))
        if version.reason:
            rows += wrapped(version.reason, "", "")
        if before is not None:
            rows += _changed(before, version, narrator)
    return rows


def _beside(one: Version, other: Version, narrator: Narrator) -> list[str]:
    title = f"From version {one.number} of {one.on.isoformat()} to {other.number} of {other.on.isoformat()}"
    return [*underlined(title), *_changed(one, other, narrator)]


def _changed(one: Version, other: Version, narrator: Narrator) -> list[str]:
    told = changed(one, other, narrator)
    rows = [row for each in told for row in wrapped(each, "- ", "  ")]
    return rows or ["Nothing that stands on the page changed."]


def _title(version: Version) -> str:
    by = f", by {version.by}" if version.by else ""
    return f"{version.number}. {version.on.isoformat()}: {CAUSE_WORDS[version.cause]}{by}"
