"""What the solver is asked for a run: its facts, the exercise catalogue, the wishes for the week."""

import dataclasses
import datetime as dt

from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import HandNote, Programme
from assistant.model.rules import Audience
from assistant.model.wishes import WeekWishes
from assistant.plan.visibility import is_stopped, withheld_outputs
from assistant.programme.catalogue import Catalogue
from assistant.programme.from_facts import request_from_facts
from assistant.programme.hand import hand_of
from assistant.programme.request import ProgrammeRequest, TopSet


def catalogue_of(kb: KnowledgeBase, on: dt.date) -> Catalogue:
    """Return the exercise catalogue of the rule book with the settings in force on a day."""
    settings = kb.programme.settings(lambda name: kb.parameter_value(name, on).value)
    return Catalogue.of(kb.exercises, kb.muscles, kb.limits, settings, kb.sources)


def for_reader(programme: Programme, audience: Audience) -> Programme:
    """Return the week as a reader may see it.

    A client reads that a line was changed by hand, not by whom or why, and of what that costs only the
    minutes: the rest was weighed by the coach.
    """
    if audience == "coach":
        return programme
    sessions = tuple(
        dataclasses.replace(
            session,
            lines=tuple(
                dataclasses.replace(line, by_hand=tuple(map(_unsigned, line.by_hand)))
                for line in session.lines
            ),
        )
        for session in programme.sessions
    )
    unmet = tuple(
        gap
        for gap in programme.unmet
        if gap.kind not in {"over", "edit"} or gap.subject.startswith("minutes:")
    )
    return dataclasses.replace(programme, sessions=sessions, unmet=unmet)


def _unsigned(note: HandNote) -> HandNote:
    return HandNote("", "", "", note.since)


def week_request(
    run: Run, catalogue: Catalogue, seed: int = 1, wishes: WeekWishes | None = None
) -> ProgrammeRequest | None:
    """Return what the solver is asked, or None where training is withheld or answers are missing.

    Raises InputProblems where a wish names a day the client does not train.
    """
    if is_stopped(run) or "exercise_any" in withheld_outputs(run):
        return None
    request = request_from_facts(run.facts, catalogue, seed)
    if request is None or wishes is None:
        return request
    sets = {
        name: TopSet(item.load_kg, item.repetitions, item.reserve)
        for name, item in wishes.recent_sets.items()
    }
    try:
        return dataclasses.replace(
            request,
            known_top_sets=sets,
            liked=frozenset(wishes.likes),
            disliked=frozenset(wishes.dislikes),
            minutes_on=wishes.minutes_on,
            hand=hand_of(wishes.edits),
        )
    except ValueError as error:
        raise InputProblems([Problem("week", "bad-value", str(error))]) from None
