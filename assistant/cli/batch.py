"""`whyplan batch CASES.jsonl --out DIR`: a plan for every case of a file, in several processes."""

import argparse
import os
import sys
import time
from pathlib import Path

from assistant.batch.lines import count_lines
from assistant.batch.maker import Setup
from assistant.batch.run import Batch, Tally, run_batch
from assistant.cli.common import parse_day
from assistant.cli.options import FOR, FULL, NO_WEEK, RUN, SEED, count, file, form, option, switch
from assistant.cli.page import page_of
from assistant.cli.plan import week_rows
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

SUFFIXES = {"text": "txt", "json": "json", "html": "html"}
MOST_WORKERS = 64
_SHOW_EVERY_SECONDS = 0.2

OPTIONS = (
    file("cases", "one case a line, as JSON", "CASES.jsonl"),
    file("--out", "folder for the plans", "DIR", required=True),
    count(
        "--workers",
        "processes (default: one for each core; 0: this one, with no shelter from a crash)",
    ),
    form(*SUFFIXES),
    FULL,
    NO_WEEK,
    SEED,
    option(
        "--seconds-per-case",
        "stop a case that takes longer (default: 600)",
        type=float,
        default=600.0,
        metavar="S",
    ),
    switch("--profile", "say where the time went"),
    FOR,
    *RUN,
)


def run(args: argparse.Namespace) -> int:
    """Make the plans; 1 if a case has none or is stopped by the screen. Raises InputProblems."""
    _check(args)
    kb = knowledge(args.rules, args.house)
    total = count_lines(args.cases)
    asked = (os.cpu_count() or 1) if args.workers is None else args.workers
    workers = min(asked, MOST_WORKERS, max(total, 1))
    on = parse_day(args.as_of) if args.as_of else None
    told = {name: value for name, value in vars(args).items() if name != "run"}
    options = argparse.Namespace(**told, language=ENGLISH)
    setup = Setup(str(args.cases), load, render, options, on, args.engine)
    batch = Batch(
        args.cases, args.out, SUFFIXES[args.format], setup, _header(args, kb), workers,
        args.seconds_per_case,
    )  # fmt: skip
    bar = _Bar(total)
    try:
        tally = run_batch(batch, bar.tell, bar.show)
    except KeyboardInterrupt:
        bar.close()
        print("Stopped. The same command goes on from here.", file=sys.stderr)
        raise
    bar.close()
    for problem in sorted(tally.problems, key=_place):
        print(problem, file=sys.stderr)
    print("\n".join(_report(tally, args.out, profile=args.profile)))
    return 1 if tally.without_plan or tally.stopped else 0


def load(options: argparse.Namespace) -> KnowledgeBase:
    """Return the knowledge base the options name; workers call this. Raises InputProblems."""
    return knowledge(options.rules, options.house)


def render(options: argparse.Namespace, case: Case, planner: Planner, run_: Run) -> str:
    """Return what `whyplan plan` would print for one case; workers call this."""
    narrator = planner.narrator(run_, options.audience, imperial=options.imperial)
    person = Person(case, planner)
    now = None if options.no_week else person.week(run_, options.seed)
    programme = None if now is None else now.programme
    if options.format == "html":
        return page_of(options, person, run_, programme)
    plan = planner.plan(case, narrator, programme)
    if options.format == "json":
        return plan_json(plan, narrator)
    week = None if now is None else ShownWeek(now.programme, now.request)
    return PlanText(plan, narrator, week_rows(week, person, narrator), options.full).text()


def _check(args: argparse.Namespace) -> None:
    problems = []
    if args.workers is not None and not 0 <= args.workers <= MOST_WORKERS:
        text = f"`{args.workers}`; allowed: 0 to {MOST_WORKERS}"
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


def _header(args: argparse.Namespace, kb: KnowledgeBase) -> dict[str, object]:
    return {
        "rule book": kb.content_hash,
        "form": args.format,
        "reader": args.audience,
        "engine": args.engine or "default",
        "units": "imperial" if args.imperial else "metric",
        "day": args.as_of or "of the case",
        "week": "none" if args.no_week else f"seed {args.seed}",
    }


def _place(problem: str) -> tuple[int, str]:
    """Order problems by the line of their case."""
    parts = problem.split(":")
    return (int(parts[1]) if len(parts) > 1 and parts[1].isdecimal() else 0), problem


def _report(tally: Tally, out: Path, *, profile: bool) -> list[str]:
    plans = tally.made + tally.reused
    cases = "1 case" if tally.total == 1 else f"{tally.total} cases"
    rows = [f"{cases}: {plans} with a plan in {out}, {tally.without_plan} without."]
    if tally.reused:
        rows.append(f"Plans that were there already: {tally.reused}.")
    if tally.stopped:
        who = "1 is" if tally.stopped == 1 else f"{tally.stopped} are"
        rows.append(f"{who} stopped by the screen: see these people first.")
    if tally.removed:
        rows.append(f"Removed, since their case is gone or refused: {', '.join(tally.removed)}.")
    if profile and tally.made:
        rows += _profile(tally)
    return rows


def _profile(tally: Tally) -> list[str]:
    whole = sum(tally.seconds.values()) or 1.0
    rows = [f"Processor time a plan: {1000 * whole / tally.made:.1f} ms"]
    rows += [f"  {stage}: {100 * part / whole:.1f} %" for stage, part in tally.seconds.items()]
    first, most = tally.memory_kb
    rows.append(
        f"Memory of a worker: {first // 1024} MB after its first plan, at most {most // 1024} MB"
    )
    return rows


class _Bar:
    """A line of progress on a terminal; nothing elsewhere."""

    def __init__(self, total: int) -> None:
        self._total = total
        self._is_shown = sys.stderr.isatty()
        self._start = time.monotonic()
        self._last = 0.0

    def tell(self, text: str) -> None:
        """Print a line above the bar."""
        self.close()
        print(text, file=sys.stderr)

    def show(self, tally: Tally) -> None:
        """Draw the bar anew, a few times a second."""
        now = time.monotonic()
        if not self._is_shown or now - self._last < _SHOW_EVERY_SECONDS:
            return
        self._last = now
        done = tally.made + tally.without_plan
        seconds = now - self._start
        left = (self._total - tally.total) * seconds / max(done, 1)
        text = f"{tally.total} of {self._total} cases, about {_time(left)} left"
        print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)

    def close(self) -> None:
        """Wipe the bar."""
        if self._is_shown and self._last:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def _time(seconds: float) -> str:
    minutes = seconds / 60
    return f"{seconds:.0f} s" if minutes < 2 else f"{minutes:.0f} min"  # noqa: PLR2004 - two minutes
