"""`whyplan batch CASES.jsonl --out DIR`: a plan for every case of a file, in several processes."""

import argparse
import os
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli.common import parse_day
from assistant.cli.page import page_of
from assistant.cli.plan import week_rows
from assistant.cli.progress import Line, say
from assistant.cli.week_options import ShownWeek
from assistant.clients.book import knowledge
from assistant.clients.person import Person
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner
from assistant.plan.language import ENGLISH
from assistant.report.plan_json import plan_json
from assistant.report.plan_text import PlanText

if TYPE_CHECKING:
    from assistant.batch.maker import Rendered
    from assistant.batch.run import Tally

PLACES = ("rules", "house")
SUFFIXES = {"text": "txt", "json": "json", "html": "html"}
MOST_WORKERS, MOST_LINES = 64, 10_000
# Cases a part: what a kill costs a worker, so that it is seconds in both.
LINES, LINES_WITH_WEEK = 250, 25


def run(args: argparse.Namespace) -> int:
    """Make the plans; 1 if a case has none or is stopped by the screen. Raises InputProblems."""
    try:
        from assistant.batch.lines import case_lines
        from assistant.batch.maker import Setup
        from assistant.batch.pool import Alone, Crew, Pool
        from assistant.batch.run import Batch, run_batch

        if args.cluster:
            from assistant.batch.cluster import Cluster
        from assistant.cli.batch_report import report
    except ModuleNotFoundError as error:
        extra = "cluster" if args.cluster else "batch"
        text = f"it needs the package {error.name}: pip install 'whyplan[{extra}]'"
        raise InputProblems([Problem("batch", "not-installed", text)]) from None
    if args.folder is not None and args.cases == Path("report"):
        return report(args.folder)
    _check(args)
    kb = knowledge(args.rules, args.house)
    size = args.lines or (LINES if args.no_week else LINES_WITH_WEEK)
    total = sum(1 for _ in case_lines(args.cases))
    asked = (os.cpu_count() or 1) if args.workers is None else args.workers
    workers = min(asked, MOST_WORKERS, -(-total // size) or 1)
    # Workers elsewhere stand in another folder.
    places = {name: path.resolve() for name in PLACES if (path := vars(args)[name])}
    setup = Setup(
        cases=str(args.cases),
        header=_header(args, kb, size),
        load=load,
        render=render,
        options=argparse.Namespace(**vars(args) | places, language=ENGLISH),
        out=args.out.resolve() if args.cluster else args.out,
        suffix=SUFFIXES.get(args.each),
        on=parse_day(args.as_of) if args.as_of else None,
        engine=args.engine,
        seconds=args.seconds_per_case,
    )
    crew: Crew = Pool(setup, workers) if workers else Alone(setup)
    if args.cluster:
        crew = Cluster(setup, args.cluster, workers)
    begun = time.monotonic()
    try:
        with Line() as line:
            line.at(f"0 of {total} cases", None)

            def show(tally: "Tally") -> None:
                """Tell how far it is; plans that were there already took no time."""
                done = max(tally.total - tally.reused, 1)
                left = (total - tally.total) * (time.monotonic() - begun) / done
                line.at(f"{tally.total} of {total} cases", left)

            tally = run_batch(Batch(args.cases, size, setup, kb), crew, say, show)
    except KeyboardInterrupt:
        print("Stopped. The same command goes on from here.", file=sys.stderr)
        raise
    for problem in sorted(tally.problems, key=_place):
        print(problem, file=sys.stderr)
    print("\n".join(_report(tally, args.out, profile=args.profile)))
    return 1 if tally.counts.get("without") or tally.counts.get("stopped") else 0


def load(options: argparse.Namespace) -> KnowledgeBase:
    """Return the knowledge base the options name; workers call this. Raises InputProblems."""
    return knowledge(options.rules, options.house)


def render(options: argparse.Namespace, case: Case, planner: Planner, run_: Run) -> "Rendered":
    """Return what `whyplan plan` would print for one case; workers call this."""
    from assistant.audit.decision import plan_hash
    from assistant.batch.maker import Rendered

    narrator = planner.narrator(run_, options.audience, imperial=options.imperial)
    person = Person(case, planner)
    now = None if options.no_week else person.week(run_, options.seed)
    programme = None if now is None else now.programme
    plan = planner.plan(case, narrator, programme)
    as_json = text = plan_json(plan, narrator)
    if options.each == "html":
        text = page_of(options, person, run_, programme)
    elif options.each == "text":
        week = None if now is None else ShownWeek(now.programme, now.request)
        rows = week_rows(week, person, narrator)
        text = PlanText(plan, narrator, rows, options.full).text()
    return Rendered(plan, plan_hash(plan), as_json, text if options.each else None)


def _check(args: argparse.Namespace) -> None:
    problems = []
    if args.folder is not None:
        text = "one file of cases at a time; a second word belongs to `whyplan batch report FOLDER`"
        problems.append(Problem(str(args.folder), "unknown-option", text))
    if args.out is None:
        text = "name a folder for the plans"
        problems.append(Problem("--out", "missing-field", text))
    if args.workers is not None and not 0 <= args.workers <= MOST_WORKERS:
        text = f"`{args.workers}`; allowed: 0 to {MOST_WORKERS}"
        problems.append(Problem("--workers", "bad-value", text))
    if args.lines is not None and not 1 <= args.lines <= MOST_LINES:
        text = f"`{args.lines}`; allowed: 1 to {MOST_LINES}"
        problems.append(Problem("--lines", "bad-value", text))
    if args.cluster and args.workers == 0:
        text = "`0` is this process alone; allowed with --cluster: 1 and more"
        problems.append(Problem("--workers", "bad-value", text))
    if not 0 <= args.seed < 2**31:
        problems.append(Problem("--seed", "bad-value", f"`{args.seed}`; allowed: 0 to {2**31 - 1}"))
    if not args.seconds_per_case > 0:
        text = f"`{args.seconds_per_case}`; allowed: a number of seconds above 0"
        problems.append(Problem("--seconds-per-case", "bad-value", text))
    if not args.cases.is_file():
        text = "there is no such file; give a file with one case a line, as JSON"
        problems.append(Problem(str(args.cases), "missing-file", text))
    if problems:
        raise InputProblems(problems)


def _header(args: argparse.Namespace, kb: KnowledgeBase, size: int) -> dict[str, object]:
    return {
        "rule book": kb.content_hash,
        "form": args.each,
        "length": "full" if args.full else "short",
        "reader": args.audience,
        "engine": args.engine or "default",
        "units": "imperial" if args.imperial else "metric",
        "day": args.as_of or "of the case",
        "week": "none" if args.no_week else f"seed {args.seed}",
        "number of lines a part": size,
    }


def _place(problem: str) -> tuple[int, str]:
    """Order problems by the line of their case."""
    parts = problem.split(":")
    return (int(parts[1]) if len(parts) > 1 and parts[1].isdecimal() else 0), problem


def _report(tally: "Tally", out: Path, *, profile: bool) -> list[str]:
    plans, without, stopped = (tally.counts.get(n, 0) for n in ("plans", "without", "stopped"))
    cases = "1 case" if tally.total == 1 else f"{tally.total} cases"
    rows = [f"{cases}: {plans} with a plan in {out}, {without} without."]
    if tally.reused:
        rows.append(f"Plans that were there already: {tally.reused}.")
    if stopped:
        who = "1 is" if stopped == 1 else f"{stopped} are"
        rows.append(f"{who} stopped by the screen: see these people first.")
    if tally.removed:
        rows.append(f"Removed, since their case is gone or refused: {', '.join(tally.removed)}.")
    if profile and plans > tally.reused:
        rows += _profile(tally)
    return rows


def _profile(tally: "Tally") -> list[str]:
    whole = sum(tally.seconds.values()) or 1.0
    made = tally.counts["plans"] - tally.reused
    rows = [f"Processor time a plan: {1000 * whole / made:.1f} ms"]
    rows += [f"  {stage}: {100 * part / whole:.1f} %" for stage, part in tally.seconds.items()]
    first, most = tally.first_kb // 1024, tally.memory_kb // 1024
    rows.append(f"Memory of a worker: {first} MB after its first part, at most {most} MB")
    return rows
