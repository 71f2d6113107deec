"""What the commands on a client's record share: opening it, the case it holds, its plan."""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import replace
from typing import Any

from assistant.casefiles import check_answers
from assistant.casefiles.decisions import read_decisions
from assistant.casefiles.wishes import read_wishes
from assistant.cli.common import knowledge, parse_day, planner
from assistant.intake.checkin.book import checkin_book
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Case
from assistant.model.chain import plain_json
from assistant.model.errors import InputProblems, Problem
from assistant.model.history import History
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value, as_json
from assistant.plan.agreeing import Accepting
from assistant.plan.clearances import Clearances
from assistant.plan.digest import plan_digest
from assistant.plan.record import findings_of
from assistant.records.asked import aged, answered_on, taken_back
from assistant.records.chain import ANSWERS, ENTRY, PLAN, Line, NewLine
from assistant.records.due import Asked, Rounds
from assistant.records.fold import history_of, standing
from assistant.records.store import Client, Records, open_records


def today_of(args: argparse.Namespace) -> dt.date:
    """Return the day that counts as today. Raises InputProblems."""
    return parse_day(args.as_of) if args.as_of else dt.datetime.now(tz=dt.UTC).astimezone().date()


def opened(args: argparse.Namespace) -> AbstractContextManager[Records]:
    """Open the record the options name."""
    return open_records(args.db, today_of(args))


def case_of(client: Client, lines: list[Line], kb: KnowledgeBase, on: dt.date) -> Case:
    """Return what stands answered for a client as a case. Raises InputProblems.

    An answer that the rule book no longer knows or allows is an error: silence would be worse.
    """
    place = f"record of {client.handle}"
    told = standing(lines)
    answers, problems = check_answers(told.answers, kb, place)
    parsed = Parsed(place, {}, {})
    decisions = read_decisions(told.decisions, kb, parsed, problems, client=client.name, kept=True)
    week = read_wishes(told.week, kb, parsed, problems)
    if problems:
        raise InputProblems(problems)
    answers = aged(answers, lines, kb.facts.values(), on)
    if _is_new_since_agreed(answers, lines, kb, on):
        answers[kb.screen_words.deciding.changed] = True
    back = kb.screen_words.taken_back
    if back is not None:
        since = on - dt.timedelta(weeks=kb.parameter_value(back.weeks, on).value)
        if taken_back(lines, back.answers, since):
            answers[back.told_by] = True
    return Case(client.name, on, answers, decisions=decisions, week=week)


def _is_new_since_agreed(
    answers: Mapping[str, Value], lines: list[Line], kb: KnowledgeBase, on: dt.date
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


def client_case(args: argparse.Namespace, records: Records, name: str) -> tuple[Client, Case]:
    """Return a client and the case that stands in the record on the day of the command."""
    client, on = records.client(name), today_of(args)
    lines = records.history(client, kinds=[ANSWERS], until=on)
    if not lines:
        text = f"nothing is answered for {client.name} by {on.isoformat()}"
        raise InputProblems([Problem(records.place.shown, "no-answers", text)])
    return client, case_of(client, lines, knowledge(args.rules, args.house), on)


def client_history(args: argparse.Namespace, records: Records, name: str) -> tuple[Case, History]:
    """Return the case that stands for a client, and what was measured and agreed, on the day."""
    client, case = client_case(args, records, name)
    lines = records.history(client, kinds=[ANSWERS, ENTRY, PLAN], until=today_of(args))
    urgent = knowledge(args.rules, args.house).checkin.asks.strong_pain.facts
    return case, history_of(lines, today_of(args), urgent)


def plain_answers(case: Case) -> dict[str, Any]:
    """Return the answers of a case as plain data."""
    return {fact: as_json(value) for fact, value in case.answers.items()}


def rounds_of(kb: KnowledgeBase, on: dt.date) -> Rounds:
    """Return which safety questions come back, and when.

    Age and height stand once told, and weight is a measure of the check-in itself.
    """
    numbers = checkin_book(kb, on).numbers
    return Rounds(
        askable=tuple(
            question.fact
            for question in kb.questions
            if kb.facts[question.fact].is_safety and not question.fact.startswith("client.")
        ),
        all_again_weeks=numbers["all_again_weeks"],
        open_again_weeks=numbers["open_again_weeks"],
        asks=tuple(
            Asked(
                ask.flags,
                ask.facts,
                0.0 if ask.again_weeks is None else kb.parameter_value(ask.again_weeks, on).value,
            )
            for ask in kb.checkin.asks.all
        ),
    )


def kept_line(accepted: Accepting, on: dt.date) -> NewLine:
    """Return what is kept of an accepted review: the plan of the day with its decision."""
    return NewLine(PLAN, on, on, body=plain_json(accepted.digest))


def plan_line(
    args: argparse.Namespace,
    case: Case,
    on: dt.date,
    history: History | None = None,
    *,
    agrees: bool = True,
) -> NewLine:
    """Run the rules on a case, and on what its record tells, and return what is kept of the plan.

    Only an accepted review is kept with its decision, so here the decision is left out. agrees: food
    and phase of the plan are agreed with it; else what was agreed before goes on.
    """
    made = planner(args.rules, args.house, on, args.engine)
    found = None if history is None else findings_of(made.kb, case, history, on)
    digest = plan_digest(made.kb, made.run(case, found), on)
    left_out = ("review.dec", *(() if agrees else _AGREED))
    return NewLine(PLAN, on, on, body=plain_json(_without(digest, left_out)))


def changed_plan_line(
    args: argparse.Namespace, records: Records, client: Client, before: Mapping[str, Any]
) -> NewLine | None:
    """Return the plan of the day to keep where the record changed what the screen says, else None.

    before: the digest of the plan kept last. What the screen newly takes from the food is agreed that
    day; nothing else is agreed without a person, and what the screen gives back waits for one. Where
    no plan can be made, that is said, and what was told is kept all the same.
    """
    try:
        case, history = client_history(args, records, client.handle)
    except InputProblems as problems:
        print(f"The plan is not made again: {problems.problems[0]}", file=sys.stderr)
        return None
    line = plan_line(args, case, today_of(args), history)
    now = json.loads(line.body)
    if _screened(now) == _screened(before):
        return None
    taken = _FOOD & (set(now["withheld"]) - set(before.get("withheld", ())))
    return replace(line, body=plain_json(_without(now, _BLOCK if taken else _AGREED)))


_BLOCK = ("block.rotate_now",)
# What a kept plan agrees, where it does.
_AGREED = ("energy.target_kcal_per_day", "phase.now", *_BLOCK)
# What the screen can take from a plan for food.
_FOOD = frozenset({"energy_deficit", "energy_surplus", "energy_number", "exercise_any"})


def _screened(digest: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return what the screen says in a digest."""
    flags = sorted(flag["id"] for flag in digest.get("flags", ()))
    to = sorted((each["to"], each["urgency"]) for each in digest.get("referrals", ()))
    resting = digest.get("facts", {}).get("training.resting_joints", [])
    return digest.get("level", "none"), flags, to, sorted(digest.get("withheld", ())), resting


def _without(digest: Mapping[str, Any], names: tuple[str, ...]) -> dict[str, Any]:
    facts = {key: value for key, value in digest["facts"].items() if not key.startswith(names)}
    return {**digest, "facts": facts}
