"""Edits by hand on a week: what may be held of them, the lines they make, and the notes beside these."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping

from assistant.model.documents.exercises import Exercise
from assistant.model.kept import KeptLine
from assistant.model.programme import HandNote, Unmet
from assistant.model.wishes import WeekEdit
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Layout
from assistant.programme.filled import Chosen
from assistant.programme.hand import Hand, hand_of
from assistant.programme.limits import range_refused
from assistant.programme.pool import Pool, why_ruled_out
from assistant.programme.portions import least_sets
from assistant.programme.prescribe import order_key
from assistant.programme.request import Pin, ProgrammeRequest

Week = Mapping[str, tuple[KeptLine, ...]]


def with_what_holds(
    request: ProgrammeRequest, layout: Layout, catalogue: Catalogue
) -> tuple[ProgrammeRequest, tuple[Unmet, ...]]:
    """The request with the edits that may be held, as pins too, and those put aside with the reason."""
    held, aside = [], []
    for edit in request.hand.edits:
        against = why_refused(edit, request, layout, catalogue)
        if against:
            said = f"put aside: {edit_words(edit, catalogue.exercises)}; {against}"
            aside.append(Unmet("edit", edit.exercise, 1, 0, said, ""))
        else:
            held.append(edit)
    hand = hand_of(held)
    trained = {day.id for day in layout.days}
    pins = [Pin(exercise, day, by_hand=True) for exercise, day in hand.stands if day in trained]
    pins += [Pin(exercise, by_hand=True) for exercise in hand.somewhere]
    request = dataclasses.replace(request, hand=hand, pinned=(*pins, *request.pinned))
    return request, tuple(aside)


def why_refused(
    edit: WeekEdit, request: ProgrammeRequest, layout: Layout, catalogue: Catalogue
) -> str:
    """Why an edit may not be held: what safety takes, missing kit, a day not trained; empty if it may."""
    for name in filter(None, (edit.exercise, edit.other)):
        if name not in catalogue.exercises:
            return f"`{name}` is no exercise of the rule book any more"
    trained = {day.id for day in layout.days}
    lost = [day for day in (*edit.days, edit.to) if day and day not in trained]
    if lost:
        return f"{lost[0]} is no training day; trained: {', '.join(day.id for day in layout.days)}"
    if edit.kind == "repetitions":
        exercise = catalogue.exercises[edit.exercise]
        return range_refused(exercise, (edit.numbers[0], edit.numbers[1]), request, catalogue)
    if edit.kind in {"remove", "never"}:
        return ""
    comes = edit.other or edit.exercise
    against = why_ruled_out(catalogue.exercises[comes], request, catalogue)
    return "" if against is None else f"{catalogue.exercises[comes].name}: {against.why}"


def by_hand(week: Week, hand: Hand, layout: Layout) -> Week:
    """The lines of each day with the edits carried out; the others stay as they are, in their order.

    What is new on a day comes last; 0 sets mean that nobody said how many.
    """
    changed: dict[str, tuple[KeptLine, ...]] = {}
    for day in dict.fromkeys([*week, *(day.id for day in layout.days)]):
        lines: dict[str, int] = {}
        # What is not to come again leaves; the others stay as they are.
        stood = [line for line in week.get(day, ()) if line.exercise not in hand.never]
        stays = {line.exercise for line in stood if (line.exercise, day) not in hand.gone}
        for line in stood:
            name = hand.in_its_place(line.exercise, day)
            if name and (name == line.exercise or name not in stays) and name not in lines:
                lines[name] = line.sets
        for (exercise, on), edit in hand.stands.items():
            if on == day and exercise not in lines:
                lines[exercise] = _sets_before(exercise, edit, week)
        changed[day] = tuple(
            KeptLine(name, hand.sets_on(name, day) or sets) for name, sets in lines.items()
        )
    return changed


def _sets_before(exercise: str, edit: WeekEdit, week: Week) -> int:
    """The sets a moved line brings along; 0 where it did not stand there."""
    came_from = week.get(edit.days[0], ()) if edit.kind == "move" else ()
    return next((line.sets for line in came_from if line.exercise == exercise), 0)


def placed(
    before: Week,
    after: Week,
    pool: Pool,
    layout: Layout,
    request: ProgrammeRequest,
    catalogue: Catalogue,
) -> tuple[Chosen, ...]:
    """The lines as they are trained: what is new on a day at its place in the order of training.

    Every exercise of `after` is in the pool. Places said by hand come last, so they stand.
    """
    chosen: list[Chosen] = []
    hand = request.hand
    for day in layout.days:
        stood = {line.exercise for line in before.get(day.id, ())}
        today: list[Chosen] = []
        for line in after.get(day.id, ()):
            candidate = pool.allowed[line.exercise]
            item = Chosen(
                candidate, day, line.sets or least_sets(candidate, day, catalogue.settings)
            )
            edit = None if line.exercise in stood else hand.stands.get((line.exercise, day.id))
            # Who takes another's place takes it in the order, too.
            is_new = edit is not None and edit.kind != "replace"
            today.insert(_place_of(item, today, request) if is_new else len(today), item)
        chosen += _ordered(today, day.id, hand)
    return tuple(chosen)


def _place_of(item: Chosen, today: list[Chosen], request: ProgrammeRequest) -> int:
    key = order_key(item.candidate, request)
    later = (n for n, each in enumerate(today) if order_key(each.candidate, request) > key)
    return next(later, len(today))


def _ordered(today: list[Chosen], day: str, hand: Hand) -> list[Chosen]:
    """The lines with a place said by hand at it, the others around them; of two at one place the later."""
    said = {
        edit.exercise: edit.numbers[0] - 1 for edit in hand.orders.values() if edit.days[0] == day
    }
    moved = {
        item.candidate.exercise.id: item for item in today if item.candidate.exercise.id in said
    }
    ordered = [item for item in today if item.candidate.exercise.id not in said]
    for exercise in sorted(moved, key=lambda name: (said[name], [*said].index(name))):
        ordered.insert(said[exercise], moved[exercise])
    return ordered


def said_for_nothing(week: Iterable[Chosen], hand: Hand, catalogue: Catalogue) -> Iterator[Unmet]:
    """Edits of lines that the week does not hold: they wait until it does."""
    spots = {(item.candidate.exercise.id, item.day.id) for item in week}
    names = {name for name, _ in spots}
    for edit in hand.edits:
        waits = edit.kind in {"sets", "repetitions", "order"} and not any(
            (edit.exercise, day) in spots for day in edit.days
        )
        waits = waits and (bool(edit.days) or edit.exercise not in names)
        lost = hand.somewhere.get(edit.other or edit.exercise) is edit and not (
            names & {edit.other or edit.exercise}
        )
        if waits or lost:
            why = f"waits: {edit_words(edit, catalogue.exercises)}; it does not stand in this week"
            yield Unmet("edit", edit.exercise, 1, 0, why, "")


def notes_of(exercise: str, day: str, hand: Hand, catalogue: Catalogue) -> tuple[HandNote, ...]:
    """What was changed by hand about a line, by whom and why; of each kind the last word."""
    found: dict[str, HandNote] = {}
    for edit in hand.edits:
        days = (edit.to,) if edit.kind == "move" else edit.days
        about = (edit.other or edit.exercise) == exercise and (not days or day in days)
        if about and edit.kind not in {"remove", "never"}:
            said = edit_words(edit, catalogue.exercises)
            found[edit.kind] = HandNote(said, edit.by, edit.reason, edit.since.isoformat())
    return tuple(found.values())


def edit_words(edit: WeekEdit, exercises: Mapping[str, Exercise]) -> str:
    """An edit in plain words, e.g. `Leg press in place of Back squat on mon`."""
    name, other = (
        exercises[each].name if each in exercises else each for each in (edit.exercise, edit.other)
    )
    measure = exercises[edit.exercise].measure if edit.exercise in exercises else "repetitions"
    on = f" on {', '.join(edit.days)}" if edit.days else ""
    low, *high = edit.numbers or (0,)
    sets = f", {low} set{'s' if low != 1 else ''}" if low else ""
    return {
        "replace": f"{other} in place of {name}{on}",
        "add": f"{name} added{on}{sets}",
        "remove": f"{name} left out{on}",
        "move": f"{name} moved from {' '.join(edit.days)} to {edit.to}",
        "pin": f"{name} stays{on}{sets}",
        "sets": f"{name}: {low} set{'s' if low != 1 else ''}{on}",
        "repetitions": f"{name}: {low} to {high[0] if high else low} {measure}",
        "order": f"{name} at place {low}{on}",
        "never": f"{name} not again for this client",
    }[edit.kind]
