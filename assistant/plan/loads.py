"""The next loads of a week: worked out from what the record tells, and said in the reader's words and units."""

import dataclasses
import datetime as dt
from collections.abc import Callable, Collection, Mapping

from assistant.model.derivation import Run, number_in, word_in
from assistant.model.history import History, TopSet
from assistant.model.programme import NextLoad, Programme, Session
from assistant.plan.build import Planner
from assistant.plan.phrases import Phrasebook
from assistant.programme.next_load import next_load
from assistant.programme.request import ProgrammeRequest
from assistant.programme.warm_up import with_warm_up

# The decision of a review under which no load rises until somebody knows why lifts fall.
_HOLDS_LOADS = "look_into_fall"
_PAIN_COUNTS = "measure.pain_counts"


def with_next_loads(
    programme: Programme,
    request: ProgrammeRequest,
    planner: Planner,
    run: Run,
    history: History,
    lighter: Collection[dt.date] = (),
) -> Programme:
    """Return the week with the next load and range of every line whose exercise was told about.

    What was told comes before what the coach gave as recent sets. The same sets, exercises and days:
    only loads, ranges and their notes differ, so a week kept or logged stays the week it was. lighter:
    first days of lighter weeks.
    """
    if planner.kb.plan.next_loads is None:
        return programme
    told: dict[str, list[TopSet]] = {}
    for row in history.top_sets:
        told.setdefault(row.exercise, []).append(row)
    hold = word_in(run.facts, "review.decision") == _HOLDS_LOADS
    sore = _sore(planner, run)
    found: dict[tuple[str, str], NextLoad] = {}
    for session in programme.sessions:
        for line in session.lines:
            rows = told.get(line.exercise, [])
            step = next_load(
                line,
                rows,
                planner.on,
                request,
                planner.catalogue,
                lighter=lighter,
                hold=hold,
                sore=sore,
            )
            if step is not None:
                found[session.day, line.exercise] = step
    phrases = Phrasebook(planner.kb)
    sessions = tuple(
        with_warm_up(_with_loads(session, found, phrases), planner.catalogue)
        for session in programme.sessions
    )
    return dataclasses.replace(programme, sessions=sessions, next_loads=found)


def _sore(planner: Planner, run: Run) -> tuple[str, ...]:
    """Return the joints that hurt when last told, from the line on that counts."""
    counts = planner.kb.parameter_value(_PAIN_COUNTS, planner.on).value
    return tuple(
        joint
        for joint in planner.kb.book.domains["joint"]
        if (number_in(run.facts, f"record.pain_now_0_to_10[{joint}]") or 0.0) >= counts
    )


def _with_loads(
    session: Session, found: Mapping[tuple[str, str], NextLoad], phrases: Phrasebook
) -> Session:
    lines = []
    for line in session.lines:
        step = found.get((session.day, line.exercise))
        if step is not None:
            note = next_words(step, phrases, lambda _, english: english)
            line = dataclasses.replace(  # noqa: PLW2901 - the line with its next load
                line, load_kg=step.load_kg, low=step.low, high=step.high, load_note=note
            )
        lines.append(line)
    return dataclasses.replace(session, lines=tuple(lines))


def next_words(step: NextLoad, phrases: Phrasebook, name_of: Callable[[str, str], str]) -> str:
    """Return the sentence on what comes next, with loads in the reader's unit.

    name_of: the reader's name of an exercise, from its id and its English name.
    """
    words = phrases.kb.plan.next_loads
    assert words is not None  # a week gets next loads only from a book with words for them
    exercise = phrases.kb.exercises.by_id.get(step.exercise)
    slots = {
        "load": load_words(step.load_kg, phrases),
        "before": load_words(step.before_kg, phrases),
        "step": load_words(step.step_kg, phrases),
        "exercise": "" if exercise is None else name_of(exercise.id, exercise.name),
        **{
            name: str(getattr(step, name))
            for name in ("low", "high", "reserve", "count", "percent")
        },
    }
    return phrases.render(words[step.way], slots.get)


def load_words(load_kg: float | None, phrases: Phrasebook) -> str:
    """Return a load in the reader's unit, rounded to what a bar can carry; empty for none."""
    if load_kg is None:
        return ""
    if phrases.imperial:
        factor, unit = phrases.in_reader_units("kg")
        return f"{load_kg * factor:.0f} {unit}"
    return f"{phrases.written(f'{load_kg:g}')} kg"
