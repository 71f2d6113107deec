"""Few sets at first: the week chosen for the later dose, with the sets a limit allows for now."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable

from assistant.programme.filled import Chosen
from assistant.programme.request import ProgrammeRequest

# Sets come in quarters; a sum of quarters must not tip over the cap by rounding noise.
_SLACK = 1e-9
# Sets that a big lift gets before a small one begins: one set of a lift teaches little.
_BIG_LIFT_FIRST = 2


def eased(chosen: Iterable[Chosen], request: ProgrammeRequest) -> tuple[Chosen, ...]:
    """The lines with as many of their sets as the session cap of `request` allows.

    Forced exercises go first. Big lifts get two sets each; then each line of a day gets one set in the order
    given, then each a second one, and so on, as long as no muscle passes the cap. A line that
    gets none waits, and so does one of a single set where another line of the day has use for that.
    """
    lines = tuple(chosen)
    if request.later is None:
        return lines
    forced = {pin.exercise for pin in request.pinned}
    sets: dict[tuple[str, str], int] = {}
    for day in dict.fromkeys(item.day.id for item in lines):
        today = [item for item in lines if item.day.id == day]
        first = tuple(sorted(today, key=lambda item: item.candidate.exercise.id not in forced))
        for item, got in zip(first, _few_lines_whole(first, forced, request), strict=True):
            sets[day, item.candidate.exercise.id] = got
    now = [(item, sets[item.day.id, item.candidate.exercise.id]) for item in lines]
    return tuple(dataclasses.replace(item, sets=got) for item, got in now if got)


def _few_lines_whole(
    today: tuple[Chosen, ...], forced: Collection[str], request: ProgrammeRequest
) -> list[int]:
    """The sets that fit, those of a line of one set given to the others where they have use for as many."""
    sets = _sets_that_fit(today, frozenset(), request)
    waits: frozenset[int] = frozenset()
    for place in reversed(range(len(today))):
        if (
            sets[place] == 1 < today[place].sets
            and today[place].candidate.exercise.id not in forced
        ):
            without = _sets_that_fit(today, waits | {place}, request)
            if sum(without) >= sum(sets):
                sets, waits = without, waits | {place}
    return sets


def _sets_that_fit(
    today: tuple[Chosen, ...], waits: Collection[int], request: ProgrammeRequest
) -> list[int]:
    sets = [0] * len(today)
    done = dict.fromkeys(request.target_sets, 0.0)
    most = max((item.sets for item in today), default=0)
    big = [place for place, item in enumerate(today) if item.candidate.kind == "compound"]
    turns = [(turn, place) for turn in range(_BIG_LIFT_FIRST) for place in big]
    turns += [(turn, place) for turn in range(most) for place in range(len(today))]
    for turn, place in turns:
        item = today[place]
        earned = item.candidate.exercise.credits
        after = {muscle: had + earned.get(muscle, 0.0) for muscle, had in done.items()}
        fits = all(got <= request.session_cap_sets.hard + _SLACK for got in after.values())
        if sets[place] == turn < item.sets and fits and place not in waits:
            sets[place], done = turn + 1, after
    return sets
