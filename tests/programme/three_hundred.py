"""Solves generated clients, checks each week and measures it against the greedy baseline.

Prints a table of rows; run as `PYTHONPATH=.:tests python -m programme.three_hundred [count] [part/of]`.
Seconds are processor seconds of the planning call, remedies included.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Iterable
from dataclasses import dataclass

from assistant.programme.week import plan_week
from programme import measure
from programme.checker import entries, programme_faults
from programme.clients import generated
from programme.documents import catalogue, setting
from programme.greedy import greedy_week

SEED = 4_711
COUNT = 300
_SHORT = ("unmet_solver", "unmet_greedy")
_OVER = ("over_solver", "over_greedy")


@dataclass(frozen=True)
class Row:
    """One client: what was measured on the solver's week and on the greedy one."""

    number: int
    seconds: float
    faults: tuple[str, ...]
    proven: bool
    gaps: tuple[float, ...]
    solver: tuple[float, float, float]
    greedy: tuple[float, float, float]
    unmet_solver: float
    unmet_greedy: float
    over_solver: float
    over_greedy: float

    def worse(self, slack: float) -> bool:
        """True if greedy did better in the order of the phases; targets may differ by the slack."""
        if self.solver[:2] != self.greedy[:2]:
            return self.solver[:2] > self.greedy[:2]
        return self.solver[2] > self.greedy[2] + slack


def rows(count: int, part: int = 0, of: int = 1) -> Iterable[Row]:
    for number, request in enumerate(generated(count, SEED)):
        if number % of != part:
            continue
        started = time.process_time()
        programme = plan_week(request, catalogue())
        seconds = time.process_time() - started
        week, (baseline, types, pool) = entries(programme), greedy_week(request, catalogue())
        measured = [
            (
                measure.whole_body(lines, request, types, pool),
                measure.priorities(lines, request, types, pool),
                measure.targets(lines, request, types, pool),
            )
            for lines in (week, baseline)
        ]
        yield Row(
            number=number,
            seconds=seconds,
            faults=tuple(programme_faults(programme, request)),
            proven=all(phase.status == "optimal" for phase in programme.phases[:2]),
            gaps=tuple(phase.gap_percent for phase in programme.phases[2:]),
            solver=measured[0],
            greedy=measured[1],
            unmet_solver=measure.unmet_priority_sets(week, request),
            unmet_greedy=measure.unmet_priority_sets(baseline, request),
            over_solver=measure.minutes_over(week, request, dict(programme.day_types)),
            over_greedy=measure.minutes_over(baseline, request, types),
        )


def target_slack() -> float:
    """What the later phases may give back of the targets, as the rules say."""
    return float(next(p["keep_within"] for p in setting("week", "phases") if p["id"] == "targets"))


def summary(found: list[Row]) -> str:
    seconds = sorted(row.seconds for row in found)
    at_95 = seconds[max(0, round(0.95 * len(seconds)) - 1)]
    better = sum(row.solver < row.greedy for row in found)
    worse = sum(row.worse(target_slack()) for row in found)
    short, over = (
        [statistics.mean(getattr(row, name) for row in found) for name in names]
        for names in (_SHORT, _OVER)
    )
    gaps = [statistics.mean(row.gaps[at] for row in found if row.gaps) for at in (0, 1)]
    lines = [
        f"clients {len(found)}",
        f"with a fault {sum(bool(row.faults) for row in found)}",
        f"whole body and priorities proven {sum(row.proven for row in found)}",
        f"seconds median {statistics.median(seconds):.2f}, 95th {at_95:.2f}, most {seconds[-1]:.2f}",
        "| measure (mean, lower is better) | solver | greedy |",
        "|---|---|---|",
    ]
    for at, name in enumerate(("whole body", "priorities", "targets")):
        ours = statistics.mean(row.solver[at] for row in found)
        theirs = statistics.mean(row.greedy[at] for row in found)
        lines.append(f"| {name} | {ours:.1f} | {theirs:.1f} |")
    lines.append(f"| priority sets short of target | {short[0]:.2f} | {short[1]:.2f} |")
    lines.append(f"| minutes over | {over[0]:.2f} | {over[1]:.2f} |")
    lines.append(f"solver better {better}, worse {worse}")
    lines.append(f"mean gap targets {gaps[0]:.1f} %, quality {gaps[1]:.1f} %")
    return "\n".join(lines)


if __name__ == "__main__":
    arguments = sys.argv[1:]
    total = int(arguments[0]) if arguments else COUNT
    share = [int(text) for text in arguments[1].split("/")] if len(arguments) > 1 else [0, 1]
    done: list[Row] = []
    for one in rows(total, *share):
        done.append(one)
        print(one, flush=True)
    print(summary(done))
