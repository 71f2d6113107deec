"""Few sets at first: the week chosen for the later dose, with the sets a limit allows for now."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from assistant.programme.prescribe import in_training_order
from assistant.programme.request import ProgrammeRequest
from assistant.programme.solve import Chosen

# Sets come in quarters; a sum of quarters must not tip over the cap by rounding noise.
_SLACK = 1e-9


def eased(chosen: Iterable[Chosen], request: ProgrammeRequest) -> tuple[Chosen, ...]:
    """The lines with as many of their sets as the session cap of `request` allows.

    Each line of a day gets one set in the order of training, forced exercises first, then each a
    second one, and so on, as long as no muscle passes the cap; a line that gets none waits.
    """
    lines = tuple(chosen)
    if request.later is None:
        return lines
    forced = {pin.exercise for pin in request.pinned}
    kept: list[Chosen] = []
    for day in dict.fromkeys(item.day for item in lines):
        today = in_training_order([item for item in lines if item.day == day], request)
        today = tuple(sorted(today, key=lambda item: item.candidate.exercise.id not in forced))
        sets = _sets_that_fit(today, request)
        kept += [
            dataclasses.replace(item, sets=got)
            for item, got in zip(today, sets, strict=True)
            if got
        ]
    return tuple(kept)


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
