"""`whyplan log`: list, show, verify and replay past decisions, and change one with a reason."""

import argparse
import dataclasses
import datetime as dt
import tempfile
from collections.abc import Sequence
from pathlib import Path

from assistant.audit.chain import parse_head
from assistant.audit.client_tag import client_tag
from assistant.audit.entry import DecisionEntry, Entry, OverrideEntry, shaped
from assistant.audit.override import Wish, override_body
from assistant.audit.replay import Replayed, house_file, replay
from assistant.audit.store import append, read_log, sound_log
from assistant.audit.words import decision_rows, list_rows, override_row, replay_rows
from assistant.cli.logging_plans import log_path, now
from assistant.cli.progress import counted
from assistant.cli.week_options import week_for
from assistant.clients.book import knowledge, planner
from assistant.clients.compare import compare
from assistant.clients.person import Person
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.kept import read_kept
from assistant.model.programme import Programme
from assistant.plan import Planner
from assistant.plan.visibility import is_hidden


def run_list(args: argparse.Namespace) -> int:
    """Print one line for each entry. Raises InputProblems."""
    path = log_path(args.log)
    entries: Sequence[Entry] = _entries(path)
    if args.name is not None:
        tag = client_tag(args.name, path, make_key=False)
        mine = {e.sequence for e in entries if isinstance(e, DecisionEntry) and e.client == tag}
        entries = [
            e
            for e in entries
            if (e.decision if isinstance(e, OverrideEntry) else e.sequence) in mine
        ]
    print("\n".join(list_rows(entries)))
    return 0


def run_show(args: argparse.Namespace) -> int:
    """Print one decision and its changes. Raises InputProblems."""
    path = log_path(args.log)
    entries = _entries(path)
    entry = _decision(entries, args.number, path)
    changes = [e for e in entries if isinstance(e, OverrideEntry) and e.decision == entry.sequence]
    kb, withheld = knowledge(args.rules, None), entry.outcome.withheld
    rows = decision_rows(entry, changes, lambda key: is_hidden(kb, key, withheld, "coach"))
    print("\n".join(rows))
    return 0


def run_verify(args: argparse.Namespace) -> int:
    """Check the chain; 1 if anything is wrong. Raises InputProblems if there is no log."""
    path = log_path(args.log)
    head = parse_head(args.head) if args.head else None
    chain = read_log(path, head)
    for problem in chain.problems:
        print(problem)
    if chain.problems:
        return 1
    if chain.head is None:
        print("The log is empty.")
        return 0
    count = f"{len(chain.entries)} entries" if len(chain.entries) != 1 else "1 entry"
    print(f"The chain of {count} is whole. Head {chain.head}")
    if head is None:
        print(
            "A tail cut off, or a log written anew from end to end, shows only against a head that was "
            "printed:\nwhyplan log verify --head SEQ:HASH"
        )
    return 0


def run_override(args: argparse.Namespace) -> int:
    """Write a change down. Raises InputProblems where it is not allowed."""
    path = log_path(args.log)
    entry = _decision(_entries(path), args.number, path)
    wish = Wish(args.line, args.to, args.by, args.reason)
    body = override_body(entry, wish, knowledge(args.rules, None), now())
    done = append(path, lambda: body)
    print("\n".join([*done.notes, override_row(body), f"Decision log {done.link}"]))
    return 0


def _entries(path: Path) -> tuple[Entry, ...]:
    return shaped(sound_log(path).entries, str(path))


def _decision(entries: Sequence[Entry], number: int, path: Path) -> DecisionEntry:
    for entry in entries:
        if entry.sequence == number and isinstance(entry, DecisionEntry):
            return entry
    text = f"entry {number} is no decision of this log; `whyplan log list` shows them"
    raise InputProblems([Problem(str(path), "unknown-entry", text)])


def run_replay(args: argparse.Namespace) -> int:
    """Replay the log; 1 if a decision would be another one. Raises InputProblems."""
    path = log_path(args.log)
    every = _entries(path)
    entries = [entry for entry in every if isinstance(entry, DecisionEntry)]
    if args.only is not None:
        entries = [_decision(every, args.only, path)]
    knowledge(args.rules, args.house)  # a broken book is one message, not one for each decision
    with tempfile.TemporaryDirectory(prefix="whyplan-") as folder:

        def planner_for(entry: DecisionEntry) -> Planner:
            house = args.house or house_file(entry, Path(folder))
            return planner(args.rules, house, dt.date.fromisoformat(entry.as_of), args.engine)

        week_again = _week_again if args.week else None
        done = [replay(entry, planner_for, week_again) for entry in counted(entries, "decisions")]
        done = [_with_causes(one, args, Path(folder)) for one in done]
    print("\n".join(replay_rows(done, in_full=args.only is not None)))
    return 0 if all(one.same for one in done) else 1


def _with_causes(one: Replayed, args: argparse.Namespace, folder: Path) -> Replayed:
    """Name the edited rules and numbers behind another plan, where the book of then is at hand."""
    if one.same or one.same_book or one.case is None or one.planner is None:
        return one
    on = dt.date.fromisoformat(one.entry.as_of)
    house = house_file(one.entry, folder)
    for rules in dict.fromkeys((args.was, args.rules, None)):
        try:
            then = planner(rules, house, on, args.engine)
        except InputProblems:
            continue  # with these rules the settings of then no longer stand
        if then.kb.logic_hash == one.entry.book.logic_hash:
            before = Person(one.case, then, was_measured=one.measured)
            found, _ = compare(before, dataclasses.replace(before, planner=one.planner), "coach")
            return dataclasses.replace(one, caused_by=found.roots)
    return one


def _week_again(
    entry: DecisionEntry, case: Case, made_ready: Planner, run: Run
) -> Programme | None:
    asked = entry.week
    assert asked is not None, "asked only for decisions with sessions"
    if asked.with_exercise is not None:
        return None
    options = argparse.Namespace(seed=asked.seed, missed=asked.missed)
    kept = None if asked.kept is None else read_kept(asked.kept)
    person = Person(case, made_ready, was_kept=kept, was_lighter=asked.lighter)
    week = week_for(options, person, run)
    return None if week is None else week.programme
