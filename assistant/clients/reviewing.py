"""A review of one client: what accepting would lead to, accepting it once a day, or leaving all as it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from assistant.clients.by_hand import Overrides, with_overrides
from assistant.clients.desk import Desk
from assistant.clients.kept import Why, accepted
from assistant.clients.person import Person
from assistant.clients.standing import before_version
from assistant.measure import Findings
from assistant.model.errors import InputProblems, Problem
from assistant.model.version import Version
from assistant.plan.agreeing import Accepting, accepting
from assistant.plan.sentences import Narrator
from assistant.plan.signed import checked_words
from assistant.records.chain import NOTED, NewLine
from assistant.records.noted import Noted, noted_in, noted_line
from assistant.records.projection import answers_line
from assistant.records.store import Client, Records


@dataclass(frozen=True)
class Review:
    """A person on the day of a look, what their record tells, and what accepting leads to."""

    person: Person
    narrator: Narrator
    found: Findings
    done: Accepting


def review_of(person: Person, *, imperial: bool = False) -> Review | None:
    """Return the review of the day for a coach; None where the record holds nothing yet."""
    looked = person.looking_again()
    if looked.found is None or looked.history is None:
        return None
    narrator = looked.narrator("coach", imperial=imperial)
    done = accepting(looked.planner, looked.case, looked.history, narrator.run)
    return Review(looked, narrator, looked.found, done)


def accepted_today(person: Person) -> list[Version]:
    """Return the versions that a review of the day made."""
    return [v for v in person.versions if v.cause == "review" and v.on == person.planner.on]


def accepting_of_the_day(person: Person) -> Accepting | None:
    """Return what the review of the day leads to, also once it was accepted; None without a record."""
    today = accepted_today(person)
    review = review_of(before_version(person, today[0]) if today else person)
    return None if review is None else review.done


def refuse_second(person: Person) -> None:
    """Refuse to accept twice on one day: one change at a time, and the rest was said to wait."""
    today = accepted_today(person)
    if today:
        look = today[-1].facts.get("review.next_date", "another day")
        text = (
            f"a review was accepted today already (version {today[-1].number}), and one change is made at "
            f"a time; the next look is on {look}"
        )
        raise InputProblems([Problem("--accept", "accepted-already", text)])


def accept(
    desk: Desk,
    records: Records,
    name: str,
    why: Why,
    changed: Callable[[Person], Overrides] | None = None,
) -> Version:
    """Keep what the review of the day decides as agreed. Raises InputProblems.

    changed: gives the changes by hand that stand from then on; they are kept with it, all at once.
    """

    def lines(now: Person) -> Sequence[NewLine]:
        refuse_second(now)
        if changed is None:
            return accepted(now, why)
        overrides = changed(now)
        told = answers_line({}, now.planner.on, overrides=overrides)
        return (told, *accepted(with_overrides(now, overrides), why))

    return desk.keep(records, name, lines)


def refuse(desk: Desk, records: Records, client: Client, by: str, reason: str) -> None:
    """Note that a review was not accepted, by whom and why; the plan stays as it is. Raises InputProblems."""
    by, reason = checked_words(by, reason, desk.kb.overrides.reasons)
    records.append(client, [noted_line("review_refused", by, reason, desk.on)])


def refused(records: Records, client: Client, desk: Desk) -> list[Noted]:
    """Return the reviews that were not accepted up to the day, the last one first."""
    return noted_in(records.history(client, kinds=[NOTED], until=desk.on))[::-1]
