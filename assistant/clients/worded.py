"""A client's plan of the day in the words of one reader: in their language, with the week that runs."""

from dataclasses import dataclass, replace

from assistant.clients.person import Person
from assistant.model.derivation import Run
from assistant.model.language import Language
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.plan.language import localised, localised_run
from assistant.plan.sentences import Narrator


@dataclass(frozen=True)
class Reader:
    """Whom a plan is worded for."""

    audience: Audience
    language: Language
    imperial: bool = False


def worded(
    person: Person, run: Run, programme: Programme | None, reader: Reader
) -> tuple[Narrator, Plan]:
    """Return the plan of a run for a reader, and who words it. programme: the week that goes with it."""
    kb = localised(person.planner.kb, reader.language)
    speaker = replace(person.planner, kb=kb)
    said = localised_run(run, reader.language)
    narrator = speaker.narrator(said, reader.audience, imperial=reader.imperial)
    plan = speaker.plan(person.case, narrator, programme)
    return narrator, replace(plan, place=person.place(narrator))


def week_with_loads(person: Person, run: Run) -> Programme | None:
    """Return the week that runs, with the loads that come next; None where there is none."""
    now = person.week(run)
    return None if now is None else person.with_next_loads(now.programme, now.request, run)
