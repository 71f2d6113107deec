"""The plan as JSON: the contract's facts, sections, derivations, assumptions, unknowns."""

import json
from typing import Any

from assistant.model.derivation import Concluded, Derivation, FactValue, Reading, Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Plan
from assistant.model.sources import weakest
from assistant.model.values import FactKey, split_key
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.report.programme_json import programme_document


def plan_document(plan: Plan, narrator: Narrator) -> dict[str, Any]:
    """Return the plan as plain data with a fixed order of keys."""
    facts: dict[str, Any] = {
        key: _fact(narrator.kb, key, value) for key, value in plan.facts.items()
    }
    for name, view in plan.views.items():
        facts[name] = {"value": view, "unit": "1", **_provenance(plan, name)}
    return {
        "case": plan.case_name,
        "as_of": plan.as_of,
        "for": plan.audience,
        "book": {
            "version": plan.book_version,
            "logic_hash": plan.logic_hash,
            "content_hash": plan.content_hash,
        },
        "engine": plan.engine,
        **({"log": plan.log_head} if plan.log_head else {}),
        "facts": dict(sorted(facts.items())),
        "sections": [
            {
                "id": section.id,
                "title": section.title,
                **({"note": section.note} if section.note else {}),
                "lines": [
                    {
                        "id": line.id,
                        "text": line.text,
                        **({"reason": line.reason} if line.reason else {}),
                        "facts": list(line.facts),
                        **({"grade": line.grade} if line.grade else {}),
                    }
                    for line in section.lines
                ],
            }
            for section in plan.sections
        ],
        "derivations": _derivations(plan, narrator),
        "assumptions": list(plan.assumptions),
        "unknown": list(plan.unknown),
        "programme": _programme(plan),
    }


def plan_json(plan: Plan, narrator: Narrator) -> str:
    """Return the plan as JSON text, the same bytes for the same plan."""
    return json.dumps(plan_document(plan, narrator), ensure_ascii=False, indent=2) + "\n"


def _programme(plan: Plan) -> dict[str, Any] | None:
    if plan.programme is None:
        return None
    return programme_document(plan.programme, for_coach=plan.audience == "coach")


def _fact(kb: KnowledgeBase, key: FactKey, fact: FactValue) -> dict[str, Any]:
    shown: dict[str, Any] = {"value": _plain(fact.value)}
    if fact.low is not None:
        shown["low"] = _plain(fact.low)
    if fact.high is not None:
        shown["high"] = _plain(fact.high)
    shown["unit"] = kb.facts[split_key(key)[0]].unit
    if fact.method:
        shown["method"] = fact.method
    shown["grade"] = fact.grade.value
    shown["derivation"] = fact.derivations[0] if fact.derivations else None
    if len(fact.derivations) > 1:
        shown["derivations"] = list(fact.derivations)
    return shown


def _provenance(plan: Plan, name: str) -> dict[str, Any]:
    """Grade and derivations of a composite: those of the facts it is made of."""
    parts = {
        "screen.flags": "screen.flags",
        "screen.referrals": "screen.referral_urgency",
        "week.structure": "week.day_type",
    }
    made_of = [
        fact for key, fact in plan.run.facts.items() if split_key(key)[0] == parts.get(name, name)
    ]
    ids = list(dict.fromkeys(d for fact in made_of for d in fact.derivations))
    grade = weakest([fact.grade for fact in made_of]).value
    shown: dict[str, Any] = {"grade": grade, "derivation": ids[0] if ids else None}
    if len(ids) > 1:
        shown["derivations"] = ids
    return shown


def _derivations(plan: Plan, narrator: Narrator) -> list[dict[str, Any]]:
    fired = [record for record in plan.run.records if record.verdict is Verdict.FIRED]
    # Under a stop nothing but the screen is shown, and the client sees what stands behind the page.
    if plan.audience == "client" or is_stopped(plan.run):
        fired = [r for r in fired if any(c.fact in plan.facts for c in r.conclusions)]
    return [_derivation(record, narrator) for record in fired]


def _derivation(record: Derivation, narrator: Narrator) -> dict[str, Any]:
    shown: dict[str, Any] = {
        "id": record.id,
        "rule": record.rule_id,
        "rule_hash": record.rule_hash,
        "binding": dict(record.binding),
        "because": narrator.sentence(record),
        "conclusions": [
            _concluded(item) for item in record.conclusions if not narrator.hides(item.fact)
        ],
        "rests_on": list(record.rests_on),
        "parameters": list(record.parameters),
        "assumptions": list(record.assumptions),
        "sources": list(record.sources),
        "grade": record.grade.value,
        "weakest": record.weakest.value,
    }
    if narrator.audience == "coach":
        shown["readings"] = [_reading(item, narrator) for item in record.readings]
    return shown


def _concluded(item: Concluded) -> dict[str, Any]:
    shown: dict[str, Any] = {"fact": item.fact, "value": _plain(item.value)}
    if item.low is not None and item.high is not None:
        shown |= {"low": _plain(item.low), "high": _plain(item.high)}
    return shown


def _reading(reading: Reading, narrator: Narrator) -> dict[str, Any]:
    known = split_key(reading.fact)[0] in narrator.kb.facts
    if known and narrator.hides(reading.fact):
        return {"fact": reading.fact, "role": reading.role, "left_out": True}
    shown: dict[str, Any] = {
        "fact": reading.fact,
        "role": reading.role,
        "at": reading.address,
        "operator": reading.operator,
        "want": _plain(reading.want),
        "have": _plain(reading.have),
        "holds": reading.holds.value,
    }
    if reading.margin is not None:
        shown["margin"] = _plain(reading.margin)
    return shown


def _plain(value: object) -> Any:
    """Plain JSON data; floats keep nine significant digits so that every machine prints the same."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int | float):
        short = float(f"{value:.9g}")
        return int(short) if short.is_integer() else short
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return str(value)
