"""Past decisions made again: with the same book they must be the same, with another it is told what moves."""

import datetime as dt
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.audit.decision import coach_plan, outcome_of, week_made
from assistant.audit.entry import DecisionEntry, FactShown, Outcome, PlainValue, WeekMade
from assistant.casefiles import check_answers
from assistant.casefiles.wishes import read_wishes
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Case, Decision, Override
from assistant.model.chain import canonical_json
from assistant.model.derivation import Run
from assistant.model.errors import EngineFault, InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.measured import Measured
from assistant.model.programme import Programme
from assistant.model.values import WEEKDAYS, split_key
from assistant.plan import Planner
from assistant.plan.visibility import is_hidden

PlannerFor = Callable[[DecisionEntry], Planner]
# Solves the week of a decision again, as it was asked for then; None where there is none to give.
WeekAgain = Callable[[DecisionEntry, Case, Planner, Run], Programme | None]


@dataclass(frozen=True)
class Replayed:
    """What became of a past decision.

    same: the plan hash is the old one. same_book: the rules' logic and words are those of then.
    engine: which one made it again; empty where it cannot be made again, and `changes` says why.
    changes: how it would change, one line each. printed: whether a line that is printed is another one, or only what
    stands behind the lines. case, measured, planner: what it was made again from; None where it could not be.
    caused_by: the rules and numbers whose edit leads there, where the book of then is at hand.
    """

    entry: DecisionEntry
    same: bool
    same_book: bool
    engine: str
    changes: tuple[str, ...]
    printed: bool = True
    case: Case | None = None
    measured: Measured | None = None
    planner: Planner | None = None
    caused_by: tuple[str, ...] = ()


def replay(
    entry: DecisionEntry, planner_for: PlannerFor, week_again: WeekAgain | None = None
) -> Replayed:
    """Make one decision again.

    week_again: None leaves the sessions alone, since solving them takes seconds.
    Raises InputProblems if the engine asked for is not installed.
    """
    try:
        planner = planner_for(entry)
        case = case_of(entry, planner.kb)
        measured = measured_of(entry, planner.kb)
        plan = coach_plan(planner, case, measured)
        programme = None
        if week_again is not None and entry.week is not None:
            programme = week_again(entry, case, planner, plan.run)
    except InputProblems as error:
        if any(problem.code == "not-installed" for problem in error.problems):
            raise
        told = tuple(str(problem) for problem in error.problems)
        return Replayed(entry, same=False, same_book=False, engine="", changes=told)
    except EngineFault as error:
        return Replayed(entry, same=False, same_book=False, engine="", changes=(str(error),))
    now = Outcome.model_validate_json(canonical_json(outcome_of(plan)))
    same_book = (plan.logic_hash, plan.content_hash) == (
        entry.book.logic_hash,
        entry.book.content_hash,
    )
    same = now.plan_hash == entry.outcome.plan_hash
    changes = () if same else differences(entry.outcome, now, planner.kb)
    printed = now.flags != entry.outcome.flags or bool(_lines(entry.outcome, now))
    if week_again is not None and entry.week is not None:
        moved = week_differences(entry.week, programme)
        same, changes, printed = same and not moved, (*changes, *moved), printed or bool(moved)
    return Replayed(entry, same, same_book, plan.engine, changes, printed, case, measured, planner)


def case_of(entry: DecisionEntry, kb: KnowledgeBase) -> Case:
    """Return the case a decision was made from. Raises InputProblems if the book no longer takes it."""
    raw = {
        key: list(value) if isinstance(value, tuple) else value
        for key, value in entry.answers.items()
    }
    answers, problems = check_answers(raw, kb, f"entry {entry.sequence}")
    day = dt.date.fromisoformat
    parsed = Parsed(f"entry {entry.sequence}", entry.wishes, {})
    wishes = read_wishes(entry.wishes, kb, parsed, problems)
    if problems:
        raise InputProblems(problems)
    decisions = tuple(
        Decision(d.kind, d.flag, d.by, d.reason, day(d.since), day(d.until), d.role, d.seen)
        for d in entry.decisions
    )
    overrides = tuple(
        Override(o.line, o.to, o.by, o.reason, day(o.since), day(o.until) if o.until else None)
        for o in entry.overrides
    )
    return Case(
        "", day(entry.as_of), answers, decisions=decisions, week=wishes, overrides=overrides
    )


def house_file(entry: DecisionEntry, folder: Path) -> Path | None:
    """Write the settings a decision was made with where the loader of books can read them."""
    if not entry.book.house:
        return None
    text = json.dumps({"parameters": dict(sorted(entry.book.house.items()))})
    known = {path.read_text("utf-8"): path for path in folder.iterdir()}
    if text not in known:
        known[text] = folder / f"settings of decision {entry.sequence}.yaml"
        known[text].write_text(text, "utf-8")
    return known[text]


def measured_of(entry: DecisionEntry, kb: KnowledgeBase) -> Measured | None:
    """Return what the client's record told then. Raises InputProblems for facts the book no longer has."""
    gone = [key for key in entry.measured if split_key(key)[0] not in kb.facts]
    if gone:
        text = f"`{gone[0]}` is no fact of this book, but the record told it"
        raise InputProblems([Problem(f"entry {entry.sequence}", "unknown-fact", text)])
    if not entry.measured:
        return None
    return Measured(
        {key: told.value for key, told in entry.measured.items()},
        {
            key: (told.low, told.high)
            for key, told in entry.measured.items()
            if told.low is not None and told.high is not None
        },
    )


def differences(old: Outcome, new: Outcome, kb: KnowledgeBase) -> tuple[str, ...]:
    """Return how one outcome differs from another: figures first, then rules, then words.

    A figure that either of them withholds is named but not told.
    """
    told = (
        [f"flags: {_listed(old.flags)} -> {_listed(new.flags)}"] if old.flags != new.flags else []
    )
    told += _facts(old, new, kb)
    for title, before, after in (
        ("fires", old.fired, new.fired),
        ("is blocked", old.blocked_by, new.blocked_by),
        ("lacks an answer", old.needs, new.needs),
        ("gives way", old.overridden, new.overridden),
        ("is assumed", old.assumptions, new.assumptions),
    ):
        told += _moved(title, before, after)
    told += _lines(old, new)
    if not told:
        told.append("a range, a grade or a title differs")
    return tuple(told)


def week_differences(old: WeekMade, programme: Programme | None) -> tuple[str, ...]:
    """Return how the sessions differ from those of then, day by day."""
    if programme is None:
        return ("the week: no sessions can be given now",)
    new = WeekMade.model_validate_json(canonical_json(week_made(programme, old.seed)))
    if new.hash == old.hash:
        return ()
    told = []
    for day in sorted(old.sessions.keys() | new.sessions.keys(), key=WEEKDAYS.index):
        before, after = old.sessions.get(day, ()), new.sessions.get(day, ())
        gone = [line for line in before if line not in after]
        come = [line for line in after if line not in before]
        if gone or come:
            told.append(f"{day}: {'; '.join(gone) or 'nothing'} -> {'; '.join(come) or 'nothing'}")
    return tuple(told) or ("the week: loads, rests or reasons differ",)


def _facts(old: Outcome, new: Outcome, kb: KnowledgeBase) -> list[str]:
    told = []
    withheld = old.withheld | new.withheld
    for key in sorted(old.facts.keys() | new.facts.keys()):
        before, after = old.facts.get(key), new.facts.get(key)
        if before == after or key == "screen.flags":
            continue
        if is_hidden(kb, key, withheld, "coach"):
            then = "left out" if before is None else "given"
            now = "left out" if after is None else "given"
            told.append(f"{key}: {then} -> {now}, the figure is withheld")
        else:
            told.append(f"{key}: {fact_words(before)} -> {fact_words(after)}")
    return told


def fact_words(fact: FactShown | None) -> str:
    """Return a conclusion in words, with its range; `nothing` where there is none."""
    if fact is None:
        return "nothing"
    value = value_words(fact.value)
    if fact.low is None or fact.high is None:
        return value
    return f"{value} ({fact.low:g} to {fact.high:g})"


def value_words(value: PlainValue) -> str:
    """Return a value in words."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return _listed(value)
    return value if isinstance(value, str) else f"{value:.9g}"


def _listed(items: Sequence[str]) -> str:
    return ", ".join(items) if items else "none"


def _moved(title: str, before: Iterable[str], after: Iterable[str]) -> list[str]:
    old, new = set(before), set(after)
    told = [f"now {title}: {', '.join(sorted(new - old))}"] if new - old else []
    return told + ([f"no longer {title}: {', '.join(sorted(old - new))}"] if old - new else [])


def _lines(old: Outcome, new: Outcome) -> list[str]:
    moved = [
        f"line {verb}: {', '.join(sorted(names))}"
        for verb, names in (
            ("gone", old.lines.keys() - new.lines.keys()),
            ("new", new.lines.keys() - old.lines.keys()),
        )
        if names
    ]
    both = old.lines.keys() & new.lines.keys()
    reworded = sorted(key for key in both if old.lines[key].words != new.lines[key].words)
    return moved + ([f"other words in: {', '.join(reworded)}"] if reworded else [])
