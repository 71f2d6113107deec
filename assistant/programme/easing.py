"""Few sets at first: the week chosen for the later dose, with the sets a limit allows for now."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import product

from assistant.model.documents.week_settings import LimitSettings
from assistant.programme.filled import Chosen
from assistant.programme.request import ProgrammeRequest

# Sets come in quarters; a sum of quarters must not tip over the cap by rounding noise.
_SLACK = 1e-9


def eased(
    chosen: Iterable[Chosen], request: ProgrammeRequest, limits: LimitSettings
) -> tuple[Chosen, ...]:
    """The lines with as many of their sets as the session cap of `request` allows.

    Forced exercises go first. Big lifts get a few sets each before small ones begin; then each line of a day
    gets one set in the order given, then each a second one, and so on, as long as no muscle passes the cap. A
    line that gets none waits, and so does one of a single set where another line of the day has use for that.
    """
    lines = tuple(chosen)
    if request.later is None:
        return lines
    forced = {pin.exercise for pin in request.pinned}
    sets: dict[tuple[str, str], int] = {}
    for day in dict.fromkeys(item.day.id for item in lines):
        today = [item for item in lines if item.day.id == day]
        first = sorted(today, key=lambda item: item.candidate.exercise.id not in forced)
        shared = _Shared(tuple(first), request, limits.big_lift_sets_first)
        for item, got in zip(first, shared.few_lines_whole(forced), strict=True):
            sets[day, item.candidate.exercise.id] = got
    now = [(item, sets[item.day.id, item.candidate.exercise.id]) for item in lines]
    return tuple(dataclasses.replace(item, sets=got) for item, got in now if got)


@dataclass(frozen=True)
class _Shared:
    """The few sets of a day among its lines; big_first: what a big lift gets before a small one begins."""

    lines: tuple[Chosen, ...]
    request: ProgrammeRequest
    big_first: int

    def few_lines_whole(self, forced: Collection[str]) -> list[int]:
        """The sets that fit, those of a line of one set given to the others where they have use for as many."""
        waits: frozenset[int] = frozenset()
        sets = self._that_fit(waits)
        for place, item in reversed(list(enumerate(self.lines))):
            if sets[place] == 1 < item.sets and item.candidate.exercise.id not in forced:
                without = self._that_fit(waits | {place})
                if sum(without) >= sum(sets):
                    sets, waits = without, waits | {place}
        return sets

    def _that_fit(self, waits: Collection[int]) -> list[int]:
        sets = [0] * len(self.lines)
        done = dict.fromkeys(self.request.target_sets, 0.0)
        for turn, place in self._turns():
            item = self.lines[place]
            earned = item.candidate.exercise.credits
            after = {muscle: had + earned.get(muscle, 0.0) for muscle, had in done.items()}
            cap = self.request.session_cap_sets.hard + _SLACK
            fits = all(got <= cap for got in after.values())
            if sets[place] == turn < item.sets and fits and place not in waits:
                sets[place], done = turn + 1, after
        return sets

    def _turns(self) -> Iterator[tuple[int, int]]:
        """Which set of which line comes next."""
        big = [n for n, item in enumerate(self.lines) if item.candidate.kind == "compound"]
        yield from product(range(self.big_first), big)
        most = max((item.sets for item in self.lines), default=0)
        yield from product(range(most), range(len(self.lines)))
