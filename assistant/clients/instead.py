"""What another choice in a week would cost: a change by hand that nobody made, tried and priced at once."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from assistant.clients.edits import edited, rearranged
from assistant.clients.person import Person
from assistant.clients.week import WeekNow
from assistant.model.programme import Line, Session
from assistant.model.wishes import EditKind, WeekEdit
from assistant.programme.by_hand import why_refused
from assistant.programme.days import lay_out
from assistant.programme.hand import hand_of
from assistant.programme.points import score
from assistant.programme.pool import why_ruled_out

_MOST_RIVALS = 2


def week_to_change(person: Person) -> WeekNow | None:
    """Return the usual week, whatever runs today; None where there is none to change."""
    now = person.week(person.run(), usual=True)
    return now if now is not None and now.programme.sessions else None


@dataclass(frozen=True)
class Instead:
    """Another choice: the change, and the week with it, or why it may not be. anew: the rest was solved again."""

    edit: WeekEdit
    week: WeekNow | None
    refused: str = ""
    anew: bool = False


def instead(
    person: Person, now: WeekNow, kind: EditKind, exercise: str, *, other: str = "",
    days: tuple[str, ...] = (), to: str = "", anew: bool = False,
) -> Instead:  # fmt: skip
    """Return the week with one change. anew: the rest is solved again around it, which takes seconds."""
    planner = person.planner
    edit = WeekEdit(kind, exercise, "-", "-", planner.on, other=other, days=days, to=to)
    edits = (*person.case.week.edits, edit)
    asked = replace(now.request, hand=hand_of(edits))
    refused = why_refused(
        edit, asked, lay_out(now.request, planner.catalogue.settings), planner.catalogue
    )
    if refused:
        return Instead(edit, None, refused)
    after = edited(planner, now, edits)
    return Instead(edit, rearranged(planner, after) if anew else after, anew=anew)


def rivals_of(person: Person, now: WeekNow, exercise: str) -> list[str]:
    """Return what of the same kind ranks highest of all that is not in the week, the best first."""
    catalogue, request = person.planner.catalogue, now.request
    here = {line.exercise for session in now.programme.sessions for line in session.lines}
    pattern = catalogue.exercises[exercise].pattern
    able = (
        row
        for row in catalogue.exercises.values()
        if row.pattern == pattern
        and row.id not in here
        and why_ruled_out(row, request, catalogue) is None
    )
    ranked = sorted(able, key=lambda row: (-score(row, request, catalogue), row.id))
    return [row.id for row in islice(ranked, _MOST_RIVALS)]


def in_its_place(person: Person, now: WeekNow, session: Session, line: Line) -> Iterator[Instead]:
    """Yield the next of its kind in place of a line, the line left out, and the line on each other day."""
    day = (session.day,)
    for other in rivals_of(person, now, line.exercise):
        yield instead(person, now, "replace", line.exercise, other=other, days=day)
    yield instead(person, now, "remove", line.exercise, days=day)
    for each in now.programme.sessions:
        if each.day != session.day and line.exercise not in {x.exercise for x in each.lines}:
            yield instead(person, now, "move", line.exercise, days=day, to=each.day)
