"""Why the week holds a line, or does not hold an exercise: its points, and what every other choice would cost."""

from collections.abc import Iterable

from assistant.cli.person import Asked
from assistant.clients.instead import (
    Instead,
    in_its_place,
    instead,
    rivals_of,
    week_to_change,
)
from assistant.clients.week import WeekNow
from assistant.model.errors import InputProblems, Problem
from assistant.model.programme import Line, Session
from assistant.plan.house import own_words
from assistant.plan.phrases import sentence_case, wrapped
from assistant.plan.week import for_reader
from assistant.programme.by_hand import edit_words
from assistant.programme.naming import exercise_meant
from assistant.report.week_account import about_text, about_words
from assistant.report.week_choice import choice_rows, cost_words, points_words
from assistant.report.week_text import line_at, place_of


def place_rows(asked: str, one: Asked) -> list[str]:
    """Return the line at a place of the week, such as `mon 1`, with its reasons. Raises InputProblems."""
    narrator, week = one.narrator, one.person.week(one.narrator.run)
    if week is None:
        text = "there is no week; `whyplan plan` says why"
        raise InputProblems([Problem(asked, "unknown-line", text)])
    programme = for_reader(week.programme, narrator.audience)
    if one.person.history is not None:
        programme = one.person.with_next_loads(programme, week.request, narrator.run)
    rows = line_at(asked, programme, narrator.phrases, narrator.audience)
    if not rows:
        days = ", ".join(f"{s.day} 1 to {s.day} {len(s.lines)}" for s in programme.sessions)
        text = f"the week has no such line; it has {days or 'no sessions'}"
        raise InputProblems([Problem(asked, "unknown-line", text)])
    usual = week_to_change(one.person) if narrator.audience == "coach" else None
    if usual is None:
        return rows
    for session, line in _lines(usual):
        if place_of(session, line) == asked:
            rival = rivals_of(one.person, usual, line.exercise)[:1]
            rows += [
                *_house_rows(line.exercise, one),
                *_points(one, usual, [line.exercise, *rival]),
            ]
            rows += _priced(one, usual, in_its_place(one.person, usual, session, line))
    return rows


def words_rows(asked: str, one: Asked, who: str) -> list[str]:
    """Return why an exercise is in the week or not, or what a muscle is trained with on a day."""
    catalogue = one.person.planner.catalogue
    week = one.person.week(one.narrator.run)
    if week is None:
        return []
    rows = about_words(asked, week.programme, one.narrator.phrases, catalogue)
    if rows:
        return rows
    exercise = _exercise(asked, one, week)
    if exercise is None:
        return []
    rows = about_text(exercise, week.programme, one.narrator.phrases, catalogue)
    if one.narrator.audience == "client":
        return rows
    rows += _house_rows(exercise, one)
    places = [
        place_of(session, line) for session, line in _lines(week) if line.exercise == exercise
    ]
    if places:
        named = ", or ".join(f"whyplan why {who} {place}" for place in places)
        return [*rows, *_points(one, week, [exercise]), f"What else there could be: {named}"]
    return [*rows, *_why_not_there(exercise, one, week)]


def not_there_rows(asked: str, one: Asked, day: str | None) -> list[str] | None:
    """Return why an exercise is not in the week, or not on a day of it; None where no exercise is meant."""
    week, catalogue = week_to_change(one.person), one.person.planner.catalogue
    if week is None:
        return None
    exercise = _exercise(asked, one, week)
    if exercise is None:
        return None
    days = [session.day for session in week.programme.sessions]
    if day is not None and day not in days:
        text = f"`{day}` is no training day of this week; allowed: {', '.join(days)}"
        raise InputProblems([Problem("--on", "bad-day", text)])
    rows = about_text(exercise, week.programme, one.narrator.phrases, catalogue)
    return [*rows, *_house_rows(exercise, one), *_why_not_there(exercise, one, week, day)]


def _why_not_there(exercise: str, one: Asked, week: WeekNow, day: str | None = None) -> list[str]:
    """Points beside those of what stands there in its place, and what it would cost to have it all the same."""
    rows = one.person.planner.catalogue.exercises
    on_day = [(s, x) for s, x in _lines(week) if day in {None, s.day}]
    if exercise in {x.exercise for _, x in on_day}:
        return []
    row = rows[exercise]
    alike = [(s, x) for s, x in on_day if rows[x.exercise].pattern == row.pattern] or [
        (s, x) for s, x in on_day if rows[x.exercise].primary.keys() & row.primary.keys()
    ]
    tried = [
        instead(one.person, week, "replace", x.exercise, other=exercise, days=(s.day,))
        for s, x in alike[:2]
    ]
    at = (day,) if day else (alike[0][0].day,) if alike else (week.programme.sessions[0].day,)
    forced = instead(one.person, week, "add", exercise, days=at, anew=True)
    beside = list(dict.fromkeys(x.exercise for _, x in alike))
    return [*_points(one, week, [exercise, *beside[:1]]), *_priced(one, week, [*tried, forced])]


def _exercise(asked: str, one: Asked, week: WeekNow) -> str | None:
    try:
        return exercise_meant(asked, week.request, one.person.planner.catalogue)
    except ValueError:
        return None


def _lines(week: WeekNow) -> list[tuple[Session, Line]]:
    return [(session, line) for session in week.programme.sessions for line in session.lines]


def _points(one: Asked, week: WeekNow, exercises: Iterable[str]) -> list[str]:
    planner = one.person.planner
    first, *others = exercises
    about = (week.request, planner.catalogue, planner.kb)
    told = [points_words(first, *about), *(points_words(x, *about, beside=first) for x in others)]
    return ["", *(row for each in told for row in wrapped(each, "", "  "))]


def _priced(one: Asked, week: WeekNow, tried: Iterable[Instead]) -> list[str]:
    """What other choices would cost; refusals for one reason stand once."""
    exercises, phrases = one.person.planner.catalogue.exercises, one.narrator.phrases
    rows = []
    for each in tried:
        cost = f"not allowed: {each.refused}"
        if each.week is not None:
            cost = cost_words(week.programme, each.week.programme, phrases)
        anew = ", the rest arranged anew" if each.anew else ""
        rows.append((sentence_case(edit_words(each.edit, exercises)) + anew, cost))
    return ["", "Instead:", *choice_rows(rows)]


def _house_rows(exercise: str, one: Asked) -> list[str]:
    own = own_words(one.person.planner.kb, f"house.exercise {exercise}")
    return wrapped(own, "", "  ") if own else []
