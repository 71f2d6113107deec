"""Tries what would buy back an unmet wish, cheapest first, by solving again."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from assistant.model.documents.week_settings import Settings
from assistant.model.programme import Unmet
from assistant.programme.catalogue import Catalogue
from assistant.programme.days import Layout, lay_out
from assistant.programme.filled import Filled
from assistant.programme.model import build_model
from assistant.programme.pool import build_pool
from assistant.programme.portions import floor_asked
from assistant.programme.request import DAYS, MOST_MINUTES, ProgrammeRequest
from assistant.programme.solve import solve
from assistant.programme.unmet import find_unmet

_WHOLE_BODY = ("empty_day", "thin_day", "family", "floor")
_OF_PRIORITIES = ("low", "sessions", "angle")
_WORTH_TRYING = (*_WHOLE_BODY, *_OF_PRIORITIES)
_LESS_THAN_A_QUARTER = 0.1
_Key = tuple[str, str]
_LAST_PHASE = "priorities"


def with_remedies(
    unmet: tuple[Unmet, ...], request: ProgrammeRequest, layout: Layout, catalogue: Catalogue
) -> tuple[Unmet, ...]:
    """Fills in, for each heavy gap, the cheapest change that clears it, or the one that helps most.

    Only gaps of the whole body and of the priorities are tried. A change is only named after a
    second solve with it, and only if it opens no new gap of the whole body. It clears a gap if all
    of the gap's phase is met, so that no later phase can open the gap again.
    """
    heavy = {_key(item): item for item in unmet if item.kind in _WORTH_TRYING}
    if not heavy:
        return unmet
    quick = _quick_settings(catalogue.settings)
    worth_naming = catalogue.settings.limits.target_tolerance_sets - _LESS_THAN_A_QUARTER
    cleared: dict[_Key, str] = {}
    helped: dict[_Key, tuple[float, str]] = {}
    for text, changed in _ideas(request, layout, catalogue):
        trial = _trial(changed, catalogue, quick)
        left = trial.gaps
        if any(key not in heavy and trial.asked(item) for key, item in left.items()):
            continue
        for key, gap in heavy.items():
            if key in cleared or not _still_asked(gap, changed):
                continue
            gain = (left[key].got if key in left else gap.wanted) - gap.got
            if key not in left and trial.holds(gap):
                cleared[key] = text
            elif gain > helped.get(key, (worth_naming, ""))[0]:
                helped[key] = (gain, text)
        if len(cleared) == len(heavy):
            break
    partly = {key: f"{text} (helps, does not clear it all)" for key, (_, text) in helped.items()}
    remedies = {**partly, **cleared}
    return tuple(
        dataclasses.replace(item, remedy=remedies.get(_key(item), item.remedy)) for item in unmet
    )


@dataclass(frozen=True)
class _Trial:
    """The gaps left by a changed request, and which phases are met in full."""

    gaps: Mapping[_Key, Unmet]
    met: Mapping[str, bool]
    floors: Mapping[str, float]

    def asked(self, gap: Unmet) -> bool:
        """True for a gap of the whole body that the search tries to close."""
        if gap.kind == "floor":
            return self.floors[gap.subject] >= gap.wanted
        return gap.kind in _WHOLE_BODY

    def holds(self, gap: Unmet) -> bool:
        """True if no later phase can open the gap again."""
        if gap.kind in _OF_PRIORITIES:
            return self.met.get("priorities", False)
        return self.asked(gap) and self.met.get("whole_body", False)


def _key(item: Unmet) -> _Key:
    return item.kind, item.subject


def _still_asked(gap: Unmet, changed: ProgrammeRequest) -> bool:
    """False where the change gives up the muscle the gap is about: that is no remedy for it."""
    of_priority = gap.kind in _OF_PRIORITIES
    return not of_priority or gap.subject.partition(":")[0] in changed.priority_muscles


def _ideas(
    request: ProgrammeRequest, layout: Layout, catalogue: Catalogue
) -> Iterator[tuple[str, ProgrammeRequest]]:
    week = catalogue.settings.week
    for kind in week.remedy_order:
        if kind == "minutes":
            yield from _more_minutes(request, layout, week.remedy_minutes)
        elif kind == "equipment":
            yield from _more_kit(request, week.remedy_equipment)
        elif kind == "day":
            yield from _one_more_day(request)
        elif kind == "fewer_priorities" and len(request.priority_muscles) > 1:
            fewer = dataclasses.replace(request, priority_muscles=request.priority_muscles[:-1])
            yield "one priority fewer", fewer


def _more_minutes(
    request: ProgrammeRequest, layout: Layout, minutes: int
) -> Iterator[tuple[str, ProgrammeRequest]]:
    long_days = [day for day in layout.days if day.type != "short"] or list(layout.days)
    # A session longer than the request can hold is no remedy.
    long_days = [day for day in long_days if day.minutes + minutes <= MOST_MINUTES]
    if not long_days:
        return
    last = long_days[-1]
    longer = {**request.minutes_on, last.id: last.minutes + minutes}
    yield (
        f"{minutes} more minutes on {last.id}",
        dataclasses.replace(request, minutes_on=longer),
    )
    if len(long_days) > 1:
        all_longer = {day.id: day.minutes + minutes for day in long_days}
        yield (
            f"{minutes} more minutes on {', '.join(day.id for day in long_days)}",
            dataclasses.replace(request, minutes_on={**request.minutes_on, **all_longer}),
        )


def _more_kit(
    request: ProgrammeRequest, pieces: tuple[str, ...]
) -> Iterator[tuple[str, ProgrammeRequest]]:
    for piece in pieces:
        if piece not in request.equipment:
            yield (
                f"a {piece}",
                dataclasses.replace(request, equipment=request.equipment | {piece}),
            )
            return


def _one_more_day(request: ProgrammeRequest) -> Iterator[tuple[str, ProgrammeRequest]]:
    spare = [day for day in DAYS if day not in request.available_days]
    if not spare or request.day_types is not None or len(request.available_days) >= len(DAYS) - 1:
        return
    used = [DAYS.index(day) for day in request.available_days]
    furthest = max(
        spare,
        key=lambda day: min(
            min((DAYS.index(day) - u) % 7, (u - DAYS.index(day)) % 7) for u in used
        ),
    )
    days = tuple(sorted((*request.available_days, furthest), key=DAYS.index))
    yield "one more day a week", dataclasses.replace(request, available_days=days)


def _trial(request: ProgrammeRequest, catalogue: Catalogue, quick: Settings) -> _Trial:
    layout, pool = lay_out(request, quick), build_pool(request, catalogue)
    week = build_model(request, pool, layout, quick)
    solution = solve(week, request, quick, _LAST_PHASE)
    unmet = find_unmet(Filled(solution.chosen, week.reachable, layout, request, catalogue))
    return _Trial(
        gaps={_key(item): item for item in unmet},
        met={phase.id: phase.value == 0 for phase in solution.phases},
        floors={m: floor_asked(m, request, layout, quick) for m in request.floors_sets},
    )


def _quick_settings(settings: Settings) -> Settings:
    time = settings.week.remedy_search_time
    phases = tuple(
        phase.model_copy(update={"deterministic_time": time}) for phase in settings.week.phases
    )
    week = settings.week.model_copy(update={"phases": phases})
    return settings.model_copy(update={"week": week})
