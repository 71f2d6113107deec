"""Generated clients: hard rules, proofs, the greedy baseline and time.

Every eighth of the three hundred is looked at here; all of them take the better part of an hour on a
busy machine and are measured by hand with `python -m programme.three_hundred`.
"""

from __future__ import annotations

import statistics

import pytest

from programme.three_hundred import COUNT, rows, summary, target_slack

ONE_IN = 8
# Promised on an idle machine: median 3 s and 95th percentile 10 s of one core. A shared one takes
# up to twice as long for the same work, so twice the promise is what fails the check.
MEDIAN_S, AT_95_S = 2 * 3.0, 2 * 10.0


@pytest.mark.slow
def test_every_eighth_of_three_hundred_clients() -> None:
    found = list(rows(COUNT, 0, ONE_IN))
    print(summary(found))
    assert len(found) == -(-COUNT // ONE_IN)
    assert [row for row in found if row.faults] == []
    assert [row.number for row in found if not row.proven] == []
    assert [row.number for row in found if row.worse(target_slack())] == []
    seconds = sorted(row.seconds for row in found)
    assert statistics.median(seconds) <= MEDIAN_S
    assert seconds[round(0.95 * len(seconds)) - 1] <= AT_95_S
