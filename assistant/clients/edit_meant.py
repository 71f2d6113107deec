"""From what a coach means to one change of the week: which exercise, which days, and whether it may be."""

import dataclasses
from typing import Any, NoReturn

from assistant.casefiles.edits import checked_edit
from assistant.clients.week import WeekNow
from assistant.model.documents.exercises import Exercise
from assistant.model.errors import InputProblems, Problem, Refused
from assistant.model.wishes import EditKind, WeekEdit
from assistant.plan import Planner
from assistant.programme.by_hand import edit_words, why_refused
from assistant.programme.days import lay_out
from assistant.programme.hand import hand_of
from assistant.programme.naming import exercise_meant

# What stands in a change that is only priced: nobody made it yet.
_NOBODY = {"by": "-", "reason": "-"}
# What is done to a line that stands in the week.
_OF_LINES = {"replace", "remove", "move", "sets", "repetitions", "order"}
# What needs a day.
_OF_A_DAY = {"add", "move", "order"}
# What is first looked for in the week.
_HERE = {*_OF_LINES, "pin", "never"}


@dataclasses.dataclass(frozen=True)
class Typed:
    """A change as it was typed.

    exercise, other: an id, or words of a name. days: each alone, or several with commas. number: how many
    sets, or which place. low, high: repetitions. sets: of what is added or stays. by, reason: empty where
    the change is only priced.
    """

    exercise: str
    other: str = ""
    days: tuple[str, ...] = ()
    to: str | None = None
    number: int | None = None
    low: int | None = None
    high: int | None = None
    sets: int | None = None
    by: str = ""
    reason: str = ""


def edit_meant(kind: EditKind, typed: Typed, planner: Planner, now: WeekNow) -> WeekEdit:
    """Return the change that is meant. Raises InputProblems.

    Without a day a replacement means the days on which the exercise stands now, so that it is remembered
    on these. What safety withholds, and what the kit or the days do not allow, is refused with its reason.
    """
    exercise = _exercise(
        typed.exercise, planner, now, here=kind in _HERE, must_stand=kind in _OF_LINES
    )
    stands = [s.day for s in now.programme.sessions if exercise in {x.exercise for x in s.lines}]
    days = [day for given in typed.days for day in given.split(",")]
    if kind in _OF_LINES:
        _check_days(days, stands, planner.catalogue.exercises[exercise].name, now)
    if kind == "add" and set(days) & set(stands):
        name, on = planner.catalogue.exercises[exercise].name, ", ".join(stands)
        _refuse("--on", "bad-day", f"{name} stands on {on} already; change its sets instead")
    if kind == "replace" or (kind in {"move", "order"} and len(stands) == 1):
        days = days or stands
    if not days and (kind in _OF_A_DAY or (kind == "pin" and not stands)):
        there = f"it stands on {', '.join(stands)}" if stands else "it stands nowhere in this week"
        _refuse("--on", "missing-field", f"{there}; add --on DAY")
    if kind == "move" and typed.to is None:
        _refuse("--to", "missing-field", "say where it goes; add --to DAY")
    item: dict[str, Any] = {kind: exercise, "since": planner.on.isoformat(), "days": days}
    if kind == "replace":
        item["other"] = _exercise(typed.other, planner, now, here=False, must_stand=False)
    if kind == "move":
        item["to"] = typed.to
    numbers = (typed.number, typed.low, typed.high, typed.sets)
    item["numbers"] = [number for number in numbers if number is not None]
    given = {name: text for name in _NOBODY if (text := getattr(typed, name))}
    try:
        edit = checked_edit({**item, **_NOBODY, **given}, planner.kb)
    except Refused as refused:
        raise InputProblems([refused.at(f"edit {kind}")]) from None
    layout = lay_out(now.request, planner.catalogue.settings)
    asked = dataclasses.replace(now.request, hand=hand_of((*now.request.hand.edits, edit)))
    against = why_refused(edit, asked, layout, planner.catalogue)
    if against:
        text = f"{edit_words(edit, planner.catalogue.exercises)}: refused; {against}"
        _refuse(f"edit {kind}", "refused", text)
    return edit


def allowed_in_week(planner: Planner, now: WeekNow, day: str) -> list[Exercise]:
    """Return the exercises that may be put on a day by hand, in the order of the rule book."""
    layout = lay_out(now.request, planner.catalogue.settings)
    edits = now.request.hand.edits
    found = []
    for exercise in planner.kb.exercises.exercises:
        if exercise.id not in planner.catalogue.exercises:
            continue
        edit = WeekEdit("add", exercise.id, "-", "-", planner.on, days=(day,))
        asked = dataclasses.replace(now.request, hand=hand_of((*edits, edit)))
        if not why_refused(edit, asked, layout, planner.catalogue):
            found.append(exercise)
    return found


def _refuse(place: str, code: str, text: str) -> NoReturn:
    raise InputProblems([Problem(place, code, text)]) from None


def _check_days(days: list[str], stands: list[str], name: str, now: WeekNow) -> None:
    for day in days:
        if day in now.programme.day_types and day not in stands:
            text = f"{name} does not stand on `{day}`; it stands on {', '.join(stands)}"
            _refuse("--on", "bad-day", text)


def _exercise(text: str, planner: Planner, now: WeekNow, *, here: bool, must_stand: bool) -> str:
    """The exercise that is meant: with `here` one of the week if its words fit, else the best of the book."""
    names = {line.exercise: line.name for s in now.programme.sessions for line in s.lines}
    words = set(text.lower().replace("_", " ").replace("-", " ").split())
    fits = [
        exercise
        for exercise, name in names.items()
        if here and words and words <= set(name.lower().replace("-", " ").split())
    ]
    if text in names or len(fits) == 1:
        return text if text in names else fits[0]
    if fits and must_stand:
        few = " or ".join(f"`{each}`" for each in fits)
        _refuse("EXERCISE", "unknown-exercise", f"`{text}` can mean {few}; write it out")
    try:
        meant = exercise_meant(text, now.request, planner.catalogue)
    except ValueError as error:
        _refuse("EXERCISE", "unknown-exercise", str(error))
    if must_stand:
        name = planner.catalogue.exercises[meant].name
        wrong = f"{name} does not stand in this week; in it: {', '.join(names)}"
        _refuse("EXERCISE", "unknown-exercise", wrong)
    return meant
