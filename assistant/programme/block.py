"""What changes when a block ends: the repetition zone and a few helpers, never everything."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.documents.exercises import FULL_CREDIT, Exercise
from assistant.model.kept import days_by_exercise
from assistant.model.programme import Programme
from assistant.programme.catalogue import Catalogue
from assistant.programme.limits import barred_zones
from assistant.programme.pool import Candidate, build_pool, does_the_work_of
from assistant.programme.request import ProgrammeRequest


@dataclass(frozen=True)
class Swap:
    """A helper that leaves for a relative, and why."""

    old: str
    new: str
    why: str


@dataclass(frozen=True)
class NextBlock:
    """The next block's style, what stays, what changes, and the request that asks for it."""

    style: str
    kept_anchors: tuple[str, ...]
    swaps: tuple[Swap, ...]
    request: ProgrammeRequest
    why: str


def next_block(
    request: ProgrammeRequest,
    programme: Programme,
    weeks_on: Mapping[str, int],
    catalogue: Catalogue,
    style: str | None = None,
) -> NextBlock:
    """Plans the change of style. `weeks_on` is how many weeks each exercise has been trained.

    style: what the rules set for the next block; None where they speak of the block that runs, so that
    the next one is the one after it in the rules' order.

    Anchors stay until the weeks in the rules are over; at most the level's number of helpers leave,
    the longest-trained first, each for a relative the client may do.
    """
    settings = catalogue.settings.progression
    in_week = {line.exercise for session in programme.sessions for line in session.lines}
    anchors = anchor_lifts(request, programme, catalogue)
    kept = tuple(name for name in anchors if weeks_on.get(name, 0) < settings.anchors_kept_weeks)
    style = style or _next_style(request, catalogue)
    allowed = build_pool(request, catalogue).allowed
    stays = {*kept, *request.hand.wanted}
    leaving = sorted(in_week - stays, key=lambda name: (-weeks_on.get(name, 0), name))
    comfort = catalogue.settings.score.comfortable_skill[request.training_level]
    limit = settings.helpers_changed_per_block[request.training_level]
    swaps: list[Swap] = []
    taken = set(in_week)
    for name in leaving:
        relative = _relative(catalogue.exercises[name], allowed, taken, comfort)
        if relative is not None and len(swaps) < limit:
            taken.add(relative.id)
            weeks = weeks_on.get(name, 0)
            why = f"{weeks} weeks on it; {relative.name} trains the same from a fresh side"
            swaps.append(Swap(name, relative.id, why))
    # What neither leaves nor comes stays where it stood, so that progress can be read.
    comes = {swap.old: swap.new for swap in swaps}
    days = {comes.get(name, name): on for name, on in days_by_exercise(programme.chosen).items()}
    asked = dataclasses.replace(
        request,
        block_style=style,
        previous_exercises=frozenset(days),
        previous_days=days,
        exercises_before_previous=frozenset(comes),
        pinned=(),
    )
    why = (
        f"repetitions go from {request.block_style} to {style}; {len(swaps)} helpers change; "
        "the anchors stay so that progress can be read"
    )
    return NextBlock(style, kept, tuple(swaps), asked, why)


def anchor_lifts(
    request: ProgrammeRequest, programme: Programme, catalogue: Catalogue
) -> tuple[str, ...]:
    """The one or two big lifts a priority muscle is measured by: most sets first."""
    sets: dict[str, int] = {}
    for session in programme.sessions:
        for line in session.lines:
            sets[line.exercise] = sets.get(line.exercise, 0) + line.sets
    anchors: list[str] = []
    for muscle in request.priority_muscles:
        able = [
            name
            for name in sorted(sets, key=lambda item: (-sets[item], item))
            if catalogue.exercises[name].primary.get(muscle, 0.0) >= FULL_CREDIT
            and catalogue.patterns[catalogue.exercises[name].pattern].kind == "compound"
        ]
        anchors += able[: catalogue.settings.progression.anchors_per_priority]
    return tuple(dict.fromkeys(anchors))


def _next_style(request: ProgrammeRequest, catalogue: Catalogue) -> str:
    order = catalogue.settings.progression.style_order
    barred = barred_zones(request, catalogue)
    place = order.index(request.block_style)
    turns = (*order[place + 1 :], *order[: place + 1])
    return next(style for style in turns if style not in barred)


def _relative(
    exercise: Exercise, allowed: Mapping[str, Candidate], taken: set[str], comfort: int
) -> Exercise | None:
    """The best relative that is no step back: same work, loaded at least as well, not an easier version."""
    able = [
        (other.exercise.id not in exercise.progressions, -other.score, other.exercise.id)
        for other in allowed.values()
        if other.exercise.pattern == exercise.pattern
        and other.exercise.loadability >= exercise.loadability
        and other.exercise.skill <= max(exercise.skill, comfort)
        and other.exercise.id not in taken
        and other.exercise.id not in exercise.regressions
        and does_the_work_of(other.exercise, exercise)
        # Nothing asks for one side at a time on a big lift that was done with both.
        and (exercise.unilateral or not other.exercise.unilateral or other.kind != "compound")
    ]
    return allowed[min(able)[2]].exercise if able else None
