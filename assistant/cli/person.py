"""Whom a command is about: a client in the record or a case file, made ready for the rules of the day."""

import argparse
import datetime as dt
import os
import shlex
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from assistant.casefiles import read_case
from assistant.cli.common import knowledge, parse_day, planner
from assistant.cli.record import opened, standing_of, today_of
from assistant.cli.record_file import last_day, record_of
from assistant.clients.place import after_times_away, easier_until, place_of
from assistant.clients.week import WeekNow, last_kept, week_now
from assistant.measure import Findings
from assistant.measure.agreed import Agreed
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.history import History
from assistant.model.kept import KeptWeek
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.model.values import FactKey, Value
from assistant.model.version import Place, Version
from assistant.plan import Planner
from assistant.plan.loads import with_next_loads
from assistant.plan.phrases import wrapped
from assistant.plan.record import findings_of
from assistant.plan.sentences import Narrator
from assistant.programme.request import ProgrammeRequest

_CASE_FILES = {".yaml", ".yml", ".json"}


@dataclass(frozen=True)
class Person:
    """What stands answered, the rules of the day, and what was measured, done and agreed.

    history: None for a case file without a record beside it. versions: of a client's plan. was_kept,
    was_lighter: of a plan that is made again from the log, in place of a record.
    """

    case: Case
    planner: Planner
    history: History | None = None
    versions: tuple[Version, ...] = ()
    was_kept: KeptWeek | None = None
    was_lighter: bool = False

    @cached_property
    def found(self) -> Findings | None:
        """What the record tells on the day; None where there is none, or it holds nothing yet."""
        if self.history is None:
            return None
        return findings_of(self.planner.kb, self.case, self.history, self.planner.on)

    @property
    def agreed(self) -> Agreed | None:
        """What is agreed on the day; None where no record is."""
        return None if self.found is None else self.found.agreed

    @property
    def kept(self) -> KeptWeek | None:
        """The week kept with the current version of the plan; None where none was."""
        return self.was_kept or last_kept(self.versions)

    @property
    def lighter(self) -> bool:
        """Whether a lighter week runs on the day."""
        return self.was_lighter or self.easier_until is not None

    @property
    def easier_until(self) -> dt.date | None:
        """The last day of the lighter week that runs on the day; None where none does."""
        if self.agreed is None and not self.case.week.away:
            return None
        kb, on = self.planner.kb, self.planner.on
        longest = kb.parameter_value("away.lighter_after_days", on).value
        return easier_until(self.agreed, self.case.week.away, on, longest)

    @property
    def lighter_weeks(self) -> tuple[dt.date, ...]:
        """The first days of all lighter weeks: those agreed on, and those after times without training."""
        if self.history is None:
            return ()
        longest = self.planner.kb.parameter_value("away.lighter_after_days", self.planner.on).value
        agreed = (row.day for row in self.history.agreements if row.easier_week)
        return (*agreed, *after_times_away(self.case.week.away, longest))

    def with_next_loads(
        self, programme: Programme, request: ProgrammeRequest, run: Run
    ) -> Programme:
        """Return a week of the person with the loads that come next after what was told."""
        if self.history is None:
            return programme
        return with_next_loads(
            programme, request, self.planner, run, self.history, self.lighter_weeks
        )

    def week(self, run: Run, seed: int = 1) -> WeekNow | None:
        """Return the week that a run of the person gives; None where there is none to give."""
        return week_now(self.planner, run, self.case, self.kept, seed, lighter=self.lighter)

    def place(self, narrator: Narrator) -> Place | None:
        """Return where the plan that a narrator words stands in the record; None for a case file."""
        away = self.case.week.away
        return place_of(self.versions, self.agreed, narrator, away, self.easier_until)

    def answering(self, answers: Mapping[FactKey, Value]) -> "Person":
        """Return the same person with other answers to some questions."""
        return replace(self, case=replace(self.case, answers={**self.case.answers, **answers}))

    def looking_again(self) -> "Person":
        """Return the person on the day of a look: the day agreed for the next one is over."""
        if self.history is None:
            return self
        return replace(self, history=replace(self.history, review_on=None))

    def run(self) -> Run:
        """Return what the rules make of the person on the day."""
        return self.planner.run(self.case, self.found)

    def narrator(self, audience: Audience, *, imperial: bool = False) -> Narrator:
        """Return who words that run for a reader."""
        return self.planner.narrator(self.run(), audience, imperial=imperial)


@dataclass(frozen=True)
class Asked:
    """A person with their plan, made ready for questions of one reader."""

    person: Person
    narrator: Narrator
    plan: Plan

    @property
    def lines(self) -> Mapping[str, tuple[FactKey, ...]]:
        """The facts behind each line of the plan, by line id."""
        return {line.id: line.facts for section in self.plan.sections for line in section.lines}


def case_file(who: str) -> Path | None:
    """Return the case file that is meant; None where a client's name is."""
    path = Path(who)
    is_file = path.suffix in _CASE_FILES or os.sep in who or path.is_file()
    return path if is_file else None


def person_of(args: argparse.Namespace, who: str) -> Person:
    """Return the person a command is about, as they stand on the day of the command.

    A case file is planned for `--as-of`, else for the last day of the record beside it, else for its
    own day; a client for `--as-of`, else for today. Raises InputProblems.
    """
    path, record = case_file(who), getattr(args, "record", None)
    history: History | None = None
    versions: tuple[Version, ...] = ()
    if path is None:
        with opened(args) as records:
            now = standing_of(args, records, who)
        case, history, versions = now.case, now.history, now.versions
        on = today_of(args)
    else:
        kb = knowledge(args.rules, args.house)
        case = read_case(path, kb)
        history = None if record is None else record_of(args, kb, case.as_of)
        last = None if history is None else last_day(history)
        on = parse_day(args.as_of) if args.as_of else last or case.as_of
    made = planner(args.rules, args.house, on, args.engine)
    return Person(case, made, history, versions)


def asked_about(args: argparse.Namespace) -> Asked:
    """Return the person of a command with `--for` and the common options. Raises InputProblems."""
    person = person_of(args, args.who)
    narrator = person.narrator(args.audience, imperial=args.imperial)
    return Asked(person, narrator, person.planner.plan(person.case, narrator))


def print_by_hand(narrator: Narrator, keys: Iterable[FactKey]) -> None:
    """Say of facts that were set by hand that they were: no rule and no answer moves those."""
    for key in keys:
        said = "" if narrator.hides(key) else narrator.by_hand(key)
        if said:
            print("\n".join(wrapped(said)))


def command_again(args: argparse.Namespace, name: str, *more: str) -> str:
    """Return a command about the same person for the same reader, as it is typed."""
    words = shlex.join([args.who, *more])
    return f"whyplan {name} {words}" + (" --for client" if args.audience == "client" else "")
