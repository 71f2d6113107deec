"""Three hundred generated clients: hard rules, proofs, time, and the greedy baseline."""

from __future__ import annotations

import statistics

import pytest

from programme.three_hundred import COUNT, rows, summary


@pytest.mark.slow
def test_three_hundred_clients() -> None:
    found = list(rows(COUNT))
    print(summary(found))
    assert [row for row in found if row.faults] == []
    assert [row.number for row in found if not row.proven] == []
    assert [row.number for row in found if row.solver[:2] > row.greedy[:2]] == []
    seconds = sorted(row.seconds for row in found)
    assert statistics.median(seconds) <= 3.0
    assert seconds[round(0.95 * len(seconds)) - 1] <= 10.0
