"""Puts a plan together: engine run, what this reader may see, sections and lines."""

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from assistant.calculate.registry import CALCULATORS
from assistant.engine import (
    CompiledBook,
    EngineChoice,
    compile_knowledge,
    on_another_day,
    run_engine,
    with_numbers,
)
from assistant.model.case import Case
from assistant.model.derivation import Run, items_in
from assistant.model.documents.page import (
    GapsPart,
    LinePart,
    NotesPart,
    Part,
    ReasonsPart,
    SectionLayout,
)
from assistant.model.knowledge import KnowledgeBase
from assistant.model.measured import RecordTells
from assistant.model.plan import HOUSE, Line, Plan, PlanSection
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.model.values import FactKey, Status, Value, split_key
from assistant.plan.by_hand import with_overrides
from assistant.plan.decisions import compose_decisions, compose_set_aside, decided_flags
from assistant.plan.house import compose_house
from assistant.plan.lines import compose_gaps, compose_lines, compose_notes, compose_reasons
from assistant.plan.phrases import Phrasebook
from assistant.plan.sentences import Narrator
from assistant.plan.special import compose_special
from assistant.plan.views import composite_facts
from assistant.plan.visibility import is_stopped, visible_conclusions, withheld_outputs
from assistant.plan.week import catalogue_of, for_reader
from assistant.programme.catalogue import Catalogue


@dataclass(frozen=True)
class Planner:
    """A knowledge base made ready for one day; makes any number of plans.

    engine: `durable`, `clips`, `both`, or None for the default.
    """

    kb: KnowledgeBase
    on: dt.date
    compiled: CompiledBook
    engine: EngineChoice | None = None

    @cached_property
    def catalogue(self) -> Catalogue:
        """Exercises, muscles and the coach's settings of the week. Raises InputProblems."""
        return catalogue_of(self.kb, self.on)

    def run(self, case: Case, findings: RecordTells | None = None) -> Run:
        """Return what the rules make of a case, and of what the client's record tells.

        Raises EngineFault if the engines disagree.
        """
        given = dict(case.answers)
        if findings is not None:
            given |= findings.values
        given |= decided_flags(case.decisions, given, self.kb, self.on)

        def run_with(by_hand: Mapping[FactKey, Value]) -> Run:
            return run_engine(
                self.compiled,
                given,
                self.on,
                engine=self.engine,
                calculators=CALCULATORS,
                ranges=None if findings is None else findings.ranges,
                by_hand=by_hand,
            )

        return with_overrides(self.kb, self.on, case.overrides, run_with)

    def with_numbers(self, numbers: Mapping[str, float]) -> "Planner":
        """Return the planner with other numbers of its rule book, compiled anew only where it must be."""
        kb = replace(self.kb, overlay={**self.kb.overlay, **numbers})
        compiled = with_numbers(self.compiled, kb, numbers)
        if compiled is None:
            return prepare(kb, self.on, self.engine)
        return replace(self, kb=kb, compiled=compiled)

    def on_another_day(self, on: dt.date) -> "Planner":
        """Return the planner for another day, compiled anew only where other rules or numbers count on it."""
        compiled = on_another_day(self.compiled, on)
        if compiled is None:
            return prepare(self.kb, on, self.engine)
        return replace(self, on=on, compiled=compiled)

    def narrator(self, run: Run, audience: Audience, *, imperial: bool = False) -> Narrator:
        """Return the one who words this run for an audience."""
        return Narrator(self.kb, run, self.on, audience, Phrasebook(self.kb, imperial))

    def plan(self, case: Case, narrator: Narrator, programme: Programme | None = None) -> Plan:
        """Return the plan of a run already made (`narrator.run`), for the narrator's audience.

        programme: the solved week (`assistant.plan.week`); it costs seconds, so it is made apart.
        """
        run, kb = narrator.run, self.kb
        shown = visible_conclusions(kb, run, narrator.audience)
        views = dict(composite_facts(kb, run))
        if narrator.audience == "client":
            views.pop("screen.flags", None)
        if is_stopped(run):
            views = {name: view for name, view in views.items() if name.startswith("screen.")}
        return Plan(
            case_name=case.name,
            as_of=self.on.isoformat(),
            audience=narrator.audience,
            book_version=kb.book.version,
            logic_hash=kb.logic_hash,
            content_hash=kb.content_hash,
            engine=run.engine,
            facts=shown,
            sections=self._sections(narrator, case, programme),
            run=run,
            unknown=_unanswered(kb, case.answers),
            assumptions=run.assumptions,
            programme=None
            if is_stopped(run) or programme is None
            else for_reader(programme, narrator.audience),
            views=views,
        )

    def _sections(
        self, narrator: Narrator, case: Case, programme: Programme | None
    ) -> tuple[PlanSection, ...]:
        stopped = is_stopped(narrator.run)
        withheld, limits = (
            withheld_outputs(narrator.run),
            items_in(narrator.run.facts, "training.limits"),
        )
        silent = self.kb.plan.silenced(withheld, limits, narrator.audience)
        composed = [
            self._section(layout, narrator, case, silent)
            for layout in self.kb.plan.sections
            if layout.when_stopped or not stopped
        ]
        if self.kb.plan.house is not None and not stopped:
            words, own = self.kb.plan.house, compose_house(narrator, programme)
            composed.append(PlanSection(HOUSE, words.title.to(narrator.audience), tuple(own)))
        return tuple(section for section in composed if section.lines)

    def _section(
        self, layout: SectionLayout, narrator: Narrator, case: Case, silent: Collection[str]
    ) -> PlanSection:
        lines = [
            line
            for part in layout.parts
            for line in self._lines(part, narrator, case)
            if split_key(line.id)[0] not in silent
        ]
        title = layout.coach_title if narrator.audience == "coach" else layout.client_title
        return PlanSection(layout.id, title, tuple(lines), layout.note)

    def _lines(self, part: Part, narrator: Narrator, case: Case) -> list[Line]:
        if isinstance(part, LinePart):
            return compose_lines(part, narrator)
        if isinstance(part, NotesPart):
            return compose_notes(part, narrator)
        if isinstance(part, ReasonsPart):
            return compose_reasons(part, narrator)
        if isinstance(part, GapsPart):
            return compose_gaps(part, narrator)
        if part.special == "decisions":
            return [*compose_decisions(case.decisions, narrator), *compose_set_aside(narrator)]
        return compose_special(part, narrator)


def prepare(
    kb: KnowledgeBase,
    on: dt.date,
    engine: EngineChoice | None = None,
    kept: CompiledBook | None = None,
) -> Planner:
    """Compile a knowledge base for one day."""
    compiled = None if kept is None else on_another_day(kept, on)
    return Planner(kb, on, compiled or compile_knowledge(kb, on), engine)


def _unanswered(kb: KnowledgeBase, answers: Mapping[str, object]) -> tuple[str, ...]:
    """Return the ids of the answers that are missing, unknown or declined."""
    return tuple(
        fact_id
        for fact_id, declaration in sorted(kb.facts.items())
        if declaration.origin == "answer"
        and answers.get(fact_id, Status.UNKNOWN) in {Status.UNKNOWN, Status.DECLINED}
    )
