"""`whyplan log replay`: past decisions made again with the book of today, or with another one."""

import argparse
import datetime as dt
import json
import tempfile
from pathlib import Path

from assistant.audit.entry import DecisionEntry, shaped
from assistant.audit.replay import Replayed, replay
from assistant.audit.store import sound_log
from assistant.audit.words import replay_rows
from assistant.cli.common import knowledge, planner
from assistant.cli.logging_plans import log_path
from assistant.cli.week_options import week_for
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.programme import Programme
from assistant.plan import Planner


def replay_log(args: argparse.Namespace) -> int:
    """Replay the log; 1 if a decision would be another one. Raises InputProblems."""
    path = log_path(args.log)
    entries = [
        e for e in shaped(sound_log(path).entries, str(path)) if isinstance(e, DecisionEntry)
    ]
    if args.only is not None:
        entries = [entry for entry in entries if entry.sequence == args.only]
        if not entries:
            text = f"entry {args.only} is no decision of this log; `whyplan log list` shows them"
            raise InputProblems([Problem(str(path), "unknown-entry", text)])
    knowledge(args.rules, args.house)  # a broken book is one message, not one for each decision
    with tempfile.TemporaryDirectory(prefix="whyplan-") as folder:

        def planner_for(entry: DecisionEntry) -> Planner:
            house = args.house or _house_file(entry, Path(folder))
            return planner(args.rules, house, dt.date.fromisoformat(entry.as_of), args.engine)

        week_again = _week_again if args.week else None
        done: list[Replayed] = [replay(entry, planner_for, week_again) for entry in entries]
    print("\n".join(replay_rows(done, in_full=args.only is not None)))
    return 0 if all(one.same for one in done) else 1


def _week_again(
    entry: DecisionEntry, case: Case, made_ready: Planner, run: Run
) -> Programme | None:
    asked = entry.week
    assert asked is not None, "asked only for decisions with sessions"
    options = argparse.Namespace(
        seed=asked.seed,
        with_exercise=asked.with_exercise,
        on_day=asked.on_day,
        missed=asked.missed,
    )
    week = week_for(options, case, made_ready, run)
    return None if week is None else week.programme


def _house_file(entry: DecisionEntry, folder: Path) -> Path | None:
    """Write the settings a decision was made with where the loader of books can read them."""
    if not entry.book.house:
        return None
    text = json.dumps({"parameters": dict(sorted(entry.book.house.items()))})
    known = {path.read_text("utf-8"): path for path in folder.iterdir()}
    if text not in known:
        known[text] = folder / f"settings of decision {entry.sequence}.yaml"
        known[text].write_text(text, "utf-8")
    return known[text]
