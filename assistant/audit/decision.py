"""From a plan to what the log keeps of it: the answers, the rules, the outcome and its hash.

A name is never kept: the log knows a client by a tag. The answer to the question about self-harm is
not kept either; the logged plan is the one made without it, which its tier (`free`) makes the same
plan unless the answer is yes, and after a yes nothing is logged at all.
"""

import dataclasses
import datetime as dt
from collections.abc import Mapping
from typing import Any

from assistant.audit.entry import FORMAT
from assistant.model.case import Case, Decision, Override
from assistant.model.chain import fingerprint, plain
from assistant.model.derivation import FactValue, Verdict
from assistant.model.kept import KeptWeek
from assistant.model.knowledge import KnowledgeBase
from assistant.model.measured import RecordTells
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value, fact_key, split_key
from assistant.plan import Planner
from assistant.plan.by_hand import fact_of

_WORDS_DIGITS = 12
_ID_DIGITS = 12
# Failed rules and rules not in force are left out: they are the rest, and most of the book.
_KEPT_VERDICTS = (Verdict.FIRED, Verdict.BLOCKED_BY, Verdict.NEEDS, Verdict.OVERRIDDEN)


def loggable(case: Case, kb: KnowledgeBase) -> Case:
    """Return the case as the log knows it: no name, no session-only answer, no personal fact."""
    answers = {
        key: value
        for key, value in case.answers.items()
        if key not in SESSION_ONLY_FACTS and not kb.facts[split_key(key)[0]].personal
    }
    return dataclasses.replace(case, name="", answers=answers, expect={}, expect_reasons={})


def coach_plan(planner: Planner, case: Case, measured: RecordTells | None = None) -> Plan:
    """Return the coach's plan of a case as the log knows it. Raises EngineFault."""
    return planner.plan(case, planner.narrator(planner.run(case, measured), "coach"))


def decision_body(
    planner: Planner,
    case: Case,
    *,
    audience: str,
    written: dt.datetime,
    measured: RecordTells | None = None,
    week: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Return a decision ready to be sealed into the log.

    Its `client` is still missing: a tag instead of a name (`client_tag`). audience: who reads the
    printed plan. written: in UTC. measured: what the client's record told. week: the sessions printed with it (`week_made`).
    Raises EngineFault where there is no plan.
    """
    known = loggable(case, planner.kb)
    plan = coach_plan(planner, known, measured)
    kb = planner.kb
    body: dict[str, Any] = {
        "format": FORMAT,
        "kind": "decision",
        "written": written.isoformat(timespec="seconds"),
        "audience": audience,
        "as_of": plan.as_of,
        "book": {
            **kb.identity,
            "house": {name: _exact(value) for name, value in kb.overlay.items()},
            **(
                {"laid_over": {name: s.told for name, s in kb.laid_over.items()}}
                if kb.house
                else {}
            ),
        },
        "engine": plan.engine,
        "answers": {key: _exact(value) for key, value in known.answers.items()},
        "decisions": [_flag_decision(decision) for decision in known.decisions],
        "measured": {} if measured is None else _measured(measured),
        "wishes": known.week.as_written(),
        "outcome": outcome_of(plan),
        "week": week,
    }
    if known.overrides:
        body["overrides"] = [_override(change, plan, kb) for change in known.overrides]
    made_of = (
        "as_of",
        "book",
        "answers",
        "measured",
        "wishes",
        "decisions",
        "overrides",
        "written",
    )
    body["id"] = fingerprint([body[part] for part in made_of if part in body])[:_ID_DIGITS]
    return body


def outcome_of(plan: Plan) -> dict[str, Any]:
    """Return what a coach's plan says, as plain data; no engine, no name and no book in it."""
    lines = {
        line.id: {
            "rule": line.rule,
            "facts": list(line.facts),
            "words": fingerprint([line.text, line.reason, line.grade])[:_WORDS_DIGITS],
        }
        for section in plan.sections
        for line in section.lines
    }
    facts = {key: _fact(fact) for key, fact in plan.facts.items()}
    flags = plan.views.get("screen.flags", ())
    return {
        "plan_hash": plan_hash(plan),
        "facts": facts,
        "lines": lines,
        "flags": [f"{flag['id']} ({flag['severity']})" for flag in flags],
        **{verdict.value: _named(plan, verdict) for verdict in _KEPT_VERDICTS},
        "assumptions": list(plan.assumptions),
    }


def week_made(
    programme: Programme,
    seed: int,
    missed: str | None = None,
    kept: KeptWeek | None = None,
    *,
    lighter: bool = False,
) -> dict[str, Any]:
    """Return what the log keeps of printed sessions; the search's own account is left out."""
    from_record = {} if kept is None else {"kept": kept.as_written(), "lighter": lighter}
    return {
        **from_record,
        "seed": seed,
        "missed": missed,
        "sessions": {
            session.day: [
                f"{line.exercise} {line.sets} x {line.low}-{line.high} {line.measure}, {line.rir} left"
                for line in session.lines
            ]
            for session in programme.sessions
        },
        "hash": fingerprint(_without_notes(programme)),
    }


def _without_notes(programme: Programme) -> list[dict[str, Any]]:
    """The sessions as plain data. Who changed a line by hand stands in the wishes of the entry."""
    sessions: list[dict[str, Any]] = plain(programme.sessions)
    for session in sessions:
        for line in session["lines"]:
            del line["by_hand"]
    return sessions


def plan_hash(plan: Plan) -> str:
    """Return the SHA-256 of all a coach's plan says: lines, facts with ranges and grades, gaps.

    Left out on purpose: the engine (both say the same), the name, and the book's own hashes, which
    stand beside it; so another book that says the same has the same hash.
    """
    return fingerprint(
        {
            "as_of": plan.as_of,
            "facts": {
                key: [
                    plain(fact.value),
                    plain(fact.low),
                    plain(fact.high),
                    fact.method,
                    fact.grade.value,
                ]
                for key, fact in plan.facts.items()
            },
            "views": plain(plan.views),
            "sections": plain(plan.sections),
            "assumptions": plain(plan.assumptions),
            "unknown": plain(plan.unknown),
        }
    )


def _named(plan: Plan, verdict: Verdict) -> list[str]:
    """Return the rules with a verdict, `RULE[element]` for one that runs once for each element."""
    records = (record for record in plan.run.records if record.verdict is verdict)
    return sorted(fact_key(r.rule_id, ",".join(r.binding.values()) or None) for r in records)


def _fact(fact: FactValue) -> dict[str, Any]:
    shown = {name: plain(getattr(fact, name)) for name in ("value", "low", "high")}
    return {name: part for name, part in shown.items() if name == "value" or part is not None}


def _exact(value: Value) -> Any:
    """An answer as it was given: replay must start from the very same number."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value if isinstance(value, bool | float) else plain(value)


def _measured(measured: RecordTells) -> dict[str, Any]:
    ranges = measured.ranges
    return {
        key: {
            "value": _exact(value),
            **(dict(zip(("low", "high"), ranges[key], strict=True)) if key in ranges else {}),
        }
        for key, value in measured.values.items()
    }


def _override(change: Override, plan: Plan, kb: KnowledgeBase) -> dict[str, Any]:
    fact = plan.run.facts.get(fact_of(change.line, kb))
    ruled = None if fact is None else fact.ruled
    return {**change.as_written(), **({} if ruled is None else {"was": plain(ruled)})}


def _flag_decision(decision: Decision) -> dict[str, Any]:
    written = decision.as_written()
    return {"kind": decision.kind, "flag": written.pop(decision.kind), **written}
