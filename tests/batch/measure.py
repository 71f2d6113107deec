"""Cost and memory of batches, run by hand: `PYTHONPATH=. python tests/batch/measure.py 100 1000 10000`.

All sizes run one after the other in one go, on two workers, without weeks (a week alone costs seconds).
Processor time is told, not the clock, so that neighbours on the machine count less.
"""

import resource
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from clients import DAY, write

from assistant.audit.decision import plan_hash
from assistant.batch.lines import case_lines
from assistant.calculate.registry import CALCULATORS
from assistant.casefiles.cases import read_case_line
from assistant.cli.main import main
from assistant.engine.answers import starting_facts
from assistant.engine.run import MAKERS, engine_kinds
from assistant.engine.session import run_session
from assistant.engine.verdict import give_verdicts
from assistant.knowledge import load_knowledge
from assistant.plan import prepare
from assistant.plan.decisions import decided_flags
from assistant.plan.language import ENGLISH, read_language
from assistant.report.page.whole import page_html
from assistant.report.plan_json import plan_json
from assistant.report.plan_text import PlanText


def measure_batch(folder: Path, count: int) -> None:
    """Print what one batch costs in all its processes."""
    cases = write(folder / f"{count}.jsonl", count)
    before, clock = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    out = folder / f"out{count}"
    command = ["batch", str(cases), "--out", str(out), "--workers", "2", "--no-week", "--profile"]
    main(command)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(
        f"{count} clients: {spent:.1f} s of the workers' processor time, {1000 * spent / count:.1f} ms each, "
        f"{time.monotonic() - clock:.0f} s by the clock\n",
        flush=True,
    )
    shutil.rmtree(out)


def measure_stages(folder: Path, count: int) -> None:
    """Print the share of each stage of one plan, in this process, by the median over clients."""
    kb = load_knowledge(calculators=CALCULATORS)
    planner = prepare(kb, DAY)
    kind = engine_kinds(None)[0]
    backend = planner.compiled.engines.get(kind, MAKERS[kind], planner.compiled.program)
    english = read_language(kb, ENGLISH)
    seconds: dict[str, list[float]] = {}

    def timed(stage: str, work: Callable[[], object]) -> object:
        start = time.process_time()
        result = work()
        seconds.setdefault(stage, []).append(time.process_time() - start)
        return result

    for line in case_lines(write(folder / "stages.jsonl", count)):
        case = timed("read", lambda: read_case_line(line.raw, "x", line.number, kb))  # noqa: B023
        given = {**case.answers, **decided_flags(case.decisions, case.answers, kb, DAY)}  # type: ignore[attr-defined]
        start = starting_facts(planner.compiled, given, DAY)
        outcome = timed(
            "engine",
            lambda: run_session(planner.compiled, backend, start.values, CALCULATORS),  # noqa: B023
        )
        timed("verdicts", lambda: give_verdicts(planner.compiled, outcome, start.assumed))  # type: ignore[arg-type] # noqa: B023
        narrator = planner.narrator(planner.run(case), "coach")  # type: ignore[arg-type]
        plan = timed("plan", lambda: planner.plan(case, narrator))  # type: ignore[arg-type] # noqa: B023
        timed("text", lambda: PlanText(plan, narrator, full=True).text())  # type: ignore[arg-type] # noqa: B023
        timed("json", lambda: plan_json(plan, narrator))  # type: ignore[arg-type] # noqa: B023
        timed("hash", lambda: plan_hash(plan))  # type: ignore[arg-type] # noqa: B023
        timed("page", lambda: page_html(plan, narrator, english, english))  # type: ignore[arg-type] # noqa: B023
    engine = statistics.median(seconds["engine"])
    print(f"Stages, median of {count}, engine {backend.name} = 1 ({1000 * engine:.1f} ms)")
    for stage, spent in seconds.items():
        print(f"  {stage:9} {statistics.median(spent) / engine:6.2f}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(prefix="whyplan-") as scratch:
        measure_stages(Path(scratch), 60)
        for size in map(int, sys.argv[1:]):
            measure_batch(Path(scratch), size)
