"""One person made ready for the rules of a day: as they stand in the record, or in a case file."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from assistant.clients.place import after_times_away, easier_until, place_of
from assistant.clients.week import WeekNow, last_kept, week_now
from assistant.measure import Findings
from assistant.measure.agreed import Agreed
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.history import History
from assistant.model.kept import KeptWeek
from assistant.model.measured import RecordTells
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.model.values import FactKey, Value
from assistant.model.version import Place, Version
from assistant.plan import Planner
from assistant.plan.loads import with_next_loads
from assistant.plan.record import findings_of
from assistant.plan.sentences import Narrator
from assistant.programme.request import ProgrammeRequest


@dataclass(frozen=True)
class Person:
    """What stands answered, the rules of the day, and what was measured, done and agreed.

    history: None for a case file without a record beside it. versions: of a client's plan. was_kept,
    was_lighter, was_measured: of a plan that is made again from the log, in place of a record.
    """

    case: Case
    planner: Planner
    history: History | None = None
    versions: tuple[Version, ...] = ()
    was_kept: KeptWeek | None = None
    was_lighter: bool = False
    was_measured: RecordTells | None = None

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
    def current(self) -> Version | None:
        """The current version of the plan; None before the first."""
        return self.versions[-1] if self.versions else None

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

    def week(
        self, run: Run, seed: int = 1, *, anew: bool = False, usual: bool = False
    ) -> WeekNow | None:
        """Return the week that a run of the person gives; None where there is none to give.

        anew: another dose is asked for. usual: whatever time away or lighter week runs on the day.
        """
        lighter = self.lighter and not usual
        return week_now(
            self.planner, run, self.case, self.kept, seed, lighter=lighter, anew=anew, usual=usual
        )

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
        return self._run

    @cached_property
    def _run(self) -> Run:
        return self.planner.run(self.case, self.was_measured or self.found)

    def narrator(self, audience: Audience, *, imperial: bool = False) -> Narrator:
        """Return who words that run for a reader."""
        return self.planner.narrator(self.run(), audience, imperial=imperial)
