"""A batch costs in proportion to its cases, and a worker's memory stays flat. Processor time, not the clock."""

import argparse
from pathlib import Path

import pytest
from clients import write

from assistant.batch.lines import CaseLine
from assistant.batch.maker import Maker, Setup
from assistant.batch.pool import Pool
from assistant.batch.run import Batch, Tally, run_batch
from assistant.batch.worker import resident_kb
from assistant.cli.batch import load, render
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import ENGLISH

OPTIONS = argparse.Namespace(
    rules=None, house=None, audience="coach", imperial=False, no_week=True, full=False, each=None,
    language=ENGLISH,
)  # fmt: skip


def setup_of(cases: Path) -> tuple[Setup, KnowledgeBase]:
    kb = load(OPTIONS)
    header = {"rule book": kb.content_hash, "form": None}
    return Setup(str(cases), header, load, render, OPTIONS, cases.with_suffix(".out")), kb


def batch_of(folder: Path, count: int) -> Tally:
    cases = write(folder / f"{count}.jsonl", count)
    setup, kb = setup_of(cases)
    return run_batch(Batch(cases, 50, setup, kb), Pool(setup, 2), pytest.fail, lambda _: None)


@pytest.mark.slow
def test_cost_grows_with_the_number_of_cases_and_memory_does_not(tmp_path: Path) -> None:
    """10^2 and 10^3 clients on two workers; 10^4 is measured by hand (measure.py)."""
    small, large = batch_of(tmp_path, 100), batch_of(tmp_path, 1000)
    assert (small.counts["plans"], large.counts["plans"]) == (100, 1000)
    cost = [sum(tally.seconds.values()) / tally.total for tally in (small, large)]
    # Generous: two processes on a busy machine were seen to differ by a half on the same work.
    assert cost[1] < 2.0 * cost[0], f"{cost[0]:.4f} s and {cost[1]:.4f} s a case"
    first, most = large.first_kb, large.memory_kb
    if first:
        assert most < 1.15 * first, f"{first} kB after the first part, {most} kB at most"


@pytest.mark.slow
def test_many_days_do_not_pile_up_compiled_rules(tmp_path: Path) -> None:
    """Days share compiled rules; only what the last few made of them stays."""
    row = write(tmp_path / "one.jsonl", 1).read_text("utf-8")
    maker = Maker(setup_of(tmp_path / "one.jsonl")[0])
    held = []
    for day in range(24):
        raw = row.replace("2026-01-12", f"2026-02-{day + 1:02d}").encode()
        maker.make(CaseLine(1, raw))
        held.append(resident_kb())
    if held[0]:
        assert held[-1] < 1.25 * held[7], f"{held} kB"
