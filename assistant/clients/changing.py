"""One change of a client's week by hand, or one taken back: the week with it, and how it is kept."""

from dataclasses import dataclass, replace

from assistant.clients.desk import Desk
from assistant.clients.edits import edited, rearranged, week_before
from assistant.clients.instead import week_to_change
from assistant.clients.kept import Why, told_anew
from assistant.clients.person import Person
from assistant.clients.week import WeekNow
from assistant.model.errors import InputProblems, Problem
from assistant.model.version import Version
from assistant.model.wishes import WeekEdit, WeekWishes
from assistant.plan import Planner
from assistant.plan.signed import checked_words
from assistant.programme.by_hand import edit_words
from assistant.records.chain import NewLine
from assistant.records.store import Records


@dataclass(frozen=True)
class Change:
    """One change more, or one less."""

    edit: WeekEdit
    withdrawn: bool = False

    def edits(self, wishes: WeekWishes) -> tuple[WeekEdit, ...]:
        """Return the edits with it; of one that was said twice the last goes. Raises InputProblems."""
        if not self.withdrawn:
            return (*wishes.edits, self.edit)
        if self.edit not in wishes.edits:
            text = "the change was withdrawn meanwhile; nothing was kept"
            raise InputProblems([Problem("NUMBER", "unknown-edit", text)])
        at = len(wishes.edits) - 1 - wishes.edits[::-1].index(self.edit)
        return (*wishes.edits[:at], *wishes.edits[at + 1 :])

    def week(self, person: Person, now: WeekNow) -> WeekNow:
        """Return the week with it; one taken back gives its lines back while the block runs."""
        base = week_before(person.versions, self.edit) if self.withdrawn else None
        return edited(person.planner, now, self.edits(person.case.week), base)

    def words(self, planner: Planner) -> str:
        """Return the change in plain words."""
        said = edit_words(self.edit, planner.catalogue.exercises)
        return f"Withdrawn: {said}" if self.withdrawn else said


def keep_change(
    desk: Desk, records: Records, name: str, change: Change, why: Why, *, repair: bool = False
) -> Version:
    """Keep a change as a version of the plan. Raises InputProblems.

    repair: the rest of the week is arranged anew around it.
    """
    checked_words(why.by, why.reason, desk.kb.overrides.reasons)

    def lines(person: Person) -> tuple[NewLine, ...]:
        now = week_to_change(person)
        if now is None:
            text = "there is no week to change: training is held back or answers are missing"
            raise InputProblems([Problem("week", "no-week", text)])
        after = change.week(person, now)
        after = rearranged(person.planner, after) if repair else after
        wishes = replace(person.case.week, edits=change.edits(person.case.week))
        return told_anew(person, why, kept=after.kept, week=wishes)

    return desk.keep(records, name, lines)
