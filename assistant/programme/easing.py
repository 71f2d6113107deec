"""Few sets at first: the week chosen for the later dose, with the sets a limit allows for now."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from assistant.programme.filled import Chosen
from assistant.programme.request import ProgrammeRequest

# Sets come in quarters; a sum of quarters must not tip over the cap by rounding noise.
_SLACK = 1e-9


def eased(chosen: Iterable[Chosen], request: ProgrammeRequest) -> tuple[Chosen, ...]:
    """The lines with as many of their sets as the session cap of `request` allows.

    Each line of a day gets one set in the order given, forced exercises first, then each a second
    one, and so on, as long as no muscle passes the cap; a line that gets none waits.
    """
    lines = tuple(chosen)
    if request.later is None:
        return lines
    forced = {pin.exercise for pin in request.pinned}
    sets: dict[tuple[str, str], int] = {}
    for day in dict.fromkeys(item.day.id for item in lines):
        today = [item for item in lines if item.day.id == day]
        first = tuple(sorted(today, key=lambda item: item.candidate.exercise.id not in forced))
        for item, got in zip(first, _sets_that_fit(first, request), strict=True):
            sets[day, item.candidate.exercise.id] = got
    now = [(item, sets[item.day.id, item.candidate.exercise.id]) for item in lines]
    return tuple(dataclasses.replace(item, sets=got) for item, got in now if got)


def _sets_that_fit(today: tuple[Chosen, ...], request: ProgrammeRequest) -> list[int]:
    sets = [0] * len(today)
    done = dict.fromkeys(request.target_sets, 0.0)
    for turn in range(max((item.sets for item in today), default=0)):
        for place, item in enumerate(today):
            credits_of = item.candidate.exercise.credits
            after = {muscle: had + credits_of.get(muscle, 0.0) for muscle, had in done.items()}
            fits = all(got <= request.session_cap_sets.hard + _SLACK for got in after.values())
            if sets[place] == turn < item.sets and fits:
                sets[place], done = turn + 1, after
    return sets
