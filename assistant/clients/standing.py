"""What stands for a client on a day: the record read as answers, a history and versions of the plan."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace

from assistant.casefiles import check_answers
from assistant.casefiles.decisions import read_decisions
from assistant.casefiles.overrides import read_overrides
from assistant.casefiles.wishes import read_wishes
from assistant.clients.person import Person
from assistant.clients.week import last_kept
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.history import History
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Value
from assistant.model.version import Version
from assistant.model.wishes import WeekWishes
from assistant.plan import Planner
from assistant.plan.clearances import Clearances
from assistant.records.asked import aged, answered_on, taken_back
from assistant.records.chain import ANSWERS, ENTRY, FACTS, PLAN, Line
from assistant.records.projection import history_of, standing
from assistant.records.store import Client, Records
from assistant.records.versions import versions_of


def stands(records: Records, name: str, planner: Planner) -> Person:
    """Return a client as they stand on the planner's day. Raises InputProblems.

    An answer that the rule book no longer knows or allows is an error: silence would be worse.
    """
    kb, on, client = planner.kb, planner.on, records.client(name)
    lines = records.history(client, kinds=[ANSWERS, ENTRY, PLAN, FACTS], until=on)
    if not any(line.kind == ANSWERS for line in lines):
        text = f"nothing is answered for {client.name} by {on.isoformat()}"
        raise InputProblems([Problem(records.place.shown, "no-answers", text)])
    history = history_of(lines, on, kb.checkin.asks.strong_pain.facts)
    versions = versions_of(lines)
    case = _case(client, lines, kb, on)
    runs = _of_the_block(versions, history, on)
    return Person(case, planner, history, versions).answering(runs)


def before_version(person: Person, version: Version) -> Person:
    """Return the person as if a version, and whatever was kept after it, had not been agreed."""
    if person.history is None:
        return person
    earlier = person.versions[: version.number - 1]
    # Each kept version agrees once, in the same order.
    agreements = person.history.agreements[: len(earlier)]
    history = replace(person.history, agreements=agreements)
    then = replace(person, history=history, versions=earlier)
    return then.answering(_of_the_block(earlier, history, person.planner.on))


def wishes_held(records: Records, client: Client, kb: KnowledgeBase, on: dt.date) -> WeekWishes:
    """Return the wishes for the week that stand on a day, whatever else of the record can be read."""
    told = standing(records.history(client, kinds=[ANSWERS], until=on))
    return read_wishes(told.week, kb, Parsed(client.handle, {}, {}), [], kept=True)


def with_what_holds(brought: WeekWishes, held: WeekWishes) -> WeekWishes:
    """Return the wishes of a case file that comes in, with what is no file's to end.

    An edit by hand holds until it is withdrawn, and a time away until it is over or taken back.
    """
    edits = (*held.edits, *(edit for edit in brought.edits if edit not in held.edits))
    away = (*held.away, *(each for each in brought.away if each not in held.away))
    return replace(brought, edits=edits, away=away)


def _of_the_block(
    versions: Sequence[Version], history: History, on: dt.date
) -> dict[FactKey, Value]:
    """Return the answers about the running block, which a kept week and its first day tell."""
    kept = last_kept(versions)
    began = [row.day for row in history.agreements if row.block_starts and row.day <= on]
    if kept is None or not began:
        return {}
    weeks = (on - max(began)).days // 7
    return {"client.block_reps_now": kept.style, "client.weeks_on_programme": float(weeks)}


def _case(client: Client, lines: Sequence[Line], kb: KnowledgeBase, on: dt.date) -> Case:
    place = f"record of {client.handle}"
    told = standing(lines)
    answers, problems = check_answers(told.answers, kb, place)
    parsed = Parsed(place, {}, {})
    decisions = read_decisions(told.decisions, kb, parsed, problems, client=client.name, kept=True)
    week = read_wishes(told.week, kb, parsed, problems, kept=True)
    overrides = read_overrides(told.overrides, kb, parsed, problems, kept=True)
    if problems:
        raise InputProblems(problems)
    answers = aged(answers, lines, kb.facts.values(), on)
    answers |= _by_itself(answers, lines, kb, on)
    return Case(client.name, on, answers, decisions=decisions, week=week, overrides=overrides)


def _by_itself(
    answers: Mapping[str, Value], lines: Sequence[Line], kb: KnowledgeBase, on: dt.date
) -> dict[FactKey, Value]:
    """Return what nobody need answer, because the record tells it."""
    found: dict[FactKey, Value] = {}
    if _is_new_since_agreed(answers, lines, kb, on):
        found[kb.screen_words.deciding.changed] = True
    back = kb.screen_words.taken_back
    if back is not None:
        since = on - dt.timedelta(weeks=kb.parameter_value(back.weeks, on).value)
        if taken_back(lines, back.answers, since):
            found[back.told_by] = True
    return found


def _is_new_since_agreed(
    answers: Mapping[str, Value], lines: Sequence[Line], kb: KnowledgeBase, on: dt.date
) -> bool:
    """Tell whether anything is new since the day on which a doctor's agreement was told.

    Nobody need remember it: a condition, a sign or a medicine told later ends the agreement by itself.
    """
    for fact in kb.facts.values():
        told = answered_on(lines, fact.id) if fact.ages else None
        if told is not None and isinstance(answers.get(fact.id), float):
            then = standing(line for line in lines if line.said_on <= told)
            seen, _ = check_answers(then.answers, kb)
            if Clearances(kb, answers, on).is_new_since(seen):
                return True
    return False
