"""The next load of a line, from the sets that were told: double progression, and back after a gap.

Repetitions first, then the smallest step the kit has. What was told decides; a set told without its
reserve, or a top set without the others, is enough to say what follows *if* the rest was as good.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Sequence

from assistant.calculate.strength import e1rm, percent_of_1rm, round_down_to_step
from assistant.model.history import LiftSet, TopSet
from assistant.model.programme import Line, NextLoad
from assistant.programme.catalogue import Catalogue
from assistant.programme.pool import why_ruled_out
from assistant.programme.prescribe import step_kg
from assistant.programme.request import ProgrammeRequest

_WEEK = dt.timedelta(weeks=1)


def next_load(
    line: Line,
    told: Sequence[TopSet],
    on: dt.date,
    request: ProgrammeRequest,
    catalogue: Catalogue,
    *,
    lighter: Collection[dt.date] = (),
    hold: bool = False,
    sore: Collection[str] = (),
) -> NextLoad | None:
    """Return the next load and repetitions of a line on a day; None where nothing told says any.

    told: what was told of this exercise, in order of days. lighter: first days of lighter weeks, whose
    sets are light on purpose and say nothing. hold: no load rises for now. sore: joints that hurt when last
    told; no load rises on what loads them.
    """
    days = [
        row
        for row in told
        if row.day <= on and not any(day <= row.day < day + _WEEK for day in lighter)
    ]
    if not days or line.measure != "repetitions":
        return None
    last = days[-1]
    step = step_kg(catalogue.exercises[line.exercise], catalogue)
    hurts = not set(sore).isdisjoint(catalogue.exercises[line.exercise].joint_stress)
    if step is None:
        is_held = hold or hurts or any(day <= on < day + _WEEK for day in lighter)
        return None if is_held else _without_steps(line, last.sets, request, catalogue)
    sets = working_sets(last.sets)
    if sets[0].load_kg <= 0:
        return None
    made = _in_another_range(line, last, step, catalogue) or next_step(
        line, sets, step, catalogue, alone=not last.others
    )
    gap = _after_a_gap(line, last, sets[0].load_kg, step, on, lighter, catalogue)
    if gap is not None and (made.load_kg is None or (gap.load_kg or 0.0) < made.load_kg):
        return gap
    if (hold or hurts) and made.way in {"up", "up_if", "wider", "other_range"}:
        way = "hold_sore" if hurts else "hold"
        return NextLoad(
            way, min(made.load_kg or 0.0, sets[0].load_kg), line.low, line.high, line.rir
        )
    return made


def working_sets(sets: Sequence[LiftSet]) -> tuple[LiftSet, ...]:
    """Return the sets at the working load: the heaviest that at least two sets were done with.

    Lighter ones were on the way up, or lighter after it; without two alike the heaviest set counts.
    """
    loads = [each.load_kg for each in sets]
    repeated = [load for load in loads if loads.count(load) > 1]
    working = max(repeated or loads)
    return tuple(each for each in sets if each.load_kg == working)


def next_step(
    line: Line, sets: Sequence[LiftSet], step: float, catalogue: Catalogue, *, alone: bool
) -> NextLoad:
    """Double progression from the sets at the working load, in kg.

    The load rises when every set reached the top of the range with the planned reserve or more. A step
    over the limit in the rules is earned with a wider range first. So many sets under the bottom as the
    rules say, or a top set under it, lower the load by one step. alone: no other set was told.
    """
    load, needed = sets[0].load_kg, catalogue.settings.progression.sets_below_to_lower
    below = sum(each.repetitions < line.low for each in sets)
    if below >= needed or (below and alone):
        lighter = max(0.0, load - step)
        return NextLoad("down", lighter, line.low, line.high, line.rir, load, step, count=below)
    if _at_the_top(line, sets) and (len(sets) >= line.sets or alone):
        is_sure = len(sets) >= line.sets and all(each.reserve is not None for each in sets)
        return _raised(line, sets, step, catalogue, is_sure=is_sure)
    return NextLoad("keep", load, line.low, line.high, line.rir, load, step)


def _at_the_top(line: Line, sets: Sequence[LiftSet]) -> bool:
    """Tell whether every set reached the top of the range with the planned reserve, as far as told."""
    return all(
        each.repetitions >= line.high and (each.reserve is None or each.reserve >= line.rir)
        for each in sets
    )


def _raised(
    line: Line, sets: Sequence[LiftSet], step: float, catalogue: Catalogue, *, is_sure: bool
) -> NextLoad:
    settings, load = catalogue.settings.progression, sets[0].load_kg
    steps = max(1, math.ceil(load * settings.load_step_percent_min / 100 / step))
    heavier = load + steps * step
    percent = 100 * (heavier - load) / load
    wider = line.high + settings.widen_repetitions
    is_earned = all(each.repetitions >= wider for each in sets)
    if percent <= settings.load_step_percent_max or is_earned:
        way = "up" if is_sure else "up_if"
        return NextLoad(way, heavier, line.low, line.high, line.rir, load, heavier - load)
    return NextLoad("wider", load, line.low, wider, line.rir, load, step, percent=round(percent))


def _in_another_range(
    line: Line, last: TopSet, step: float, catalogue: Catalogue
) -> NextLoad | None:
    """Work the load out where the sets were done in a range far from the line's, as after a new block."""
    far = catalogue.settings.progression.widen_repetitions
    if line.low - far <= last.repetitions <= line.high + far or last.reserve is None:
        return None
    try:
        maximum = e1rm(last.load_kg, last.repetitions, last.reserve).value
        percent = percent_of_1rm((line.low + line.high) // 2, line.rir)
    except ValueError:  # too many repetitions for any formula
        return None
    load = round_down_to_step(maximum * percent / 100, step)
    if load <= 0:
        return None
    return NextLoad(
        "other_range",
        load,
        line.low,
        line.high,
        line.rir,
        last.load_kg,
        step,
        count=last.repetitions,
    )


def _after_a_gap(
    line: Line,
    last: TopSet,
    load: float,
    step: float,
    on: dt.date,
    lighter: Collection[dt.date],
    catalogue: Catalogue,
) -> NextLoad | None:
    """Return the load in a lighter week, after one, or after weeks without the lift; None without these."""
    settings = catalogue.settings.progression
    weeks = (on - last.day).days // _WEEK.days

    def back(way: str, share: float) -> NextLoad:
        less = round_down_to_step(load * share / 100, step)
        return NextLoad(way, less, line.low, line.high, line.rir, load, step, count=weeks)

    if any(day <= on < day + _WEEK for day in lighter):
        return back("lighter", settings.easier_week_load_percent)
    if weeks >= settings.load_old_weeks:
        return back("back", 100 - settings.load_back_percent)
    if any(last.day < day + _WEEK <= on for day in lighter):
        return back("after_lighter", 100 - settings.load_back_after_easier_percent)
    return None


def _without_steps(
    line: Line, sets: Sequence[LiftSet], request: ProgrammeRequest, catalogue: Catalogue
) -> NextLoad:
    """Return what follows where the kit has no load steps: repetitions, then the next exercise."""
    if not _at_the_top(line, sets):
        return NextLoad("repetitions", None, line.low, line.high, line.rir)
    harder = (catalogue.exercises[name] for name in catalogue.exercises[line.exercise].progressions)
    free = next((each for each in harder if why_ruled_out(each, request, catalogue) is None), None)
    if free is not None:
        return NextLoad("harder", None, line.low, line.high, line.rir, exercise=free.id)
    more = line.high + catalogue.settings.progression.widen_repetitions
    return NextLoad("more_repetitions", None, line.low, more, line.rir)
