"""Generated clients: every hard rule, silent gaps, and never worse than a greedy planner."""

from __future__ import annotations

from functools import cache

import pytest
from lengths import first_by_default

from assistant.model.programme import Programme
from assistant.programme.pool import build_pool
from assistant.programme.request import ProgrammeRequest
from assistant.programme.week import plan_week
from programme import measure
from programme.checker import entries, programme_faults
from programme.clients import generated
from programme.documents import catalogue, setting
from programme.greedy import greedy_week

COUNT, FEW, SEED = 5, 2, 20_260_112
AGAINST_GREEDY = (1, 3)


@cache
def _client(number: int) -> tuple[ProgrammeRequest, Programme]:
    request = generated(COUNT, SEED)[number]
    return request, plan_week(request, catalogue())


@pytest.mark.parametrize("number", first_by_default(range(COUNT), FEW))
def test_breaks_no_hard_rule_and_names_every_gap(number: int) -> None:
    request, programme = _client(number)
    assert programme_faults(programme, request) == []
    proven = {phase.id: phase.status for phase in programme.phases}
    assert proven["whole_body"] == proven["priorities"] == "optimal"


@pytest.mark.parametrize("number", first_by_default(AGAINST_GREEDY))
def test_never_worse_than_greedy(number: int) -> None:
    request, programme = _client(number)
    baseline, types, pool = greedy_week(request, catalogue())
    slack = next(p["keep_within"] for p in setting("week", "phases") if p["id"] == "targets")
    solved = entries(programme)
    ours = [m(solved, request, types, pool) for m in (measure.whole_body, measure.priorities)]
    theirs = [m(baseline, request, types, pool) for m in (measure.whole_body, measure.priorities)]
    assert ours <= theirs
    if ours == theirs:
        assert measure.targets(solved, request, types, pool) <= slack + measure.targets(
            baseline, request, types, pool
        )


@pytest.mark.parametrize("count", first_by_default([FEW, COUNT]))
def test_the_solver_reports_what_an_outside_count_finds(count: int) -> None:
    for number in range(count):
        request, programme = _client(number)
        types = dict(programme.day_types)
        pool = {item.exercise.id for item in build_pool(request, catalogue()).chosen}
        values = {phase.id: phase.value for phase in programme.phases}
        solved = entries(programme)
        assert values["whole_body"] == measure.whole_body(solved, request, types, pool)
        assert values["priorities"] == measure.priorities(solved, request, types, pool)
