"""The plan as JSON: the contract's facts, sections, derivations, assumptions, unknowns."""

import json
from collections.abc import Iterable
from typing import Any

from assistant.explain.asked import COMPOSITE
from assistant.explain.numbers import numbers_of
from assistant.model.derivation import Derivation, FactValue, Reading
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Plan
from assistant.model.sources import weakest
from assistant.model.values import FactKey, split_key
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.report.plan_models import ClientPlan, CoachPlan
from assistant.report.plan_models import Derivation as ShownDerivation


def plan_document(plan: Plan, narrator: Narrator) -> dict[str, Any]:
    """Return the plan as plain data with a fixed order of keys."""
    facts = {key: _fact(plan, narrator.kb, key, value) for key, value in plan.facts.items()}
    facts |= {name: _view(plan, name, view) for name, view in plan.views.items()}
    fired = _shown(plan)
    shape = CoachPlan if plan.audience == "coach" else ClientPlan
    document = shape.model_validate(
        {
            "case": plan.case_name,
            "as_of": plan.as_of,
            "for": plan.audience,
            "book": narrator.kb.identity,
            "engine": plan.engine,
            "log": plan.log_head,
            "version": _version(plan),
            "facts": dict(sorted(facts.items())),
            "sections": plan.sections,
            "derivations": [_derivation(record, narrator) for record in fired],
            "house_numbers": _house_numbers(fired, narrator) or None,
            "assumptions": plan.assumptions,
            "unknown": plan.unknown,
            "programme": plan.programme,
        }
    )
    return document.model_dump(mode="json", by_alias=True, exclude_unset=True)


def plan_json(plan: Plan, narrator: Narrator) -> str:
    """Return the plan as JSON text, the same bytes for the same plan."""
    return json.dumps(plan_document(plan, narrator), ensure_ascii=False, indent=2) + "\n"


def _version(plan: Plan) -> dict[str, Any] | None:
    place = plan.place
    if place is None:
        return None
    version = place.version
    told = {"cause": version.cause, "by": version.by, "reason": version.reason}
    return {
        "number": version.number,
        "on": version.on.isoformat(),
        **(told if plan.audience == "coach" else {}),
        "block_since": place.block_since and place.block_since.isoformat(),
        "block_week": place.block_week or None,
        "easier_until": place.easier_until and place.easier_until.isoformat(),
    }


def _fact(plan: Plan, kb: KnowledgeBase, key: FactKey, fact: FactValue) -> dict[str, Any]:
    unit = kb.facts[split_key(key)[0]].unit
    shown = {name: getattr(fact, name) for name in ("value", "low", "high", "method", "grade")}
    return {**shown, "unit": unit, **_comes_from(fact.derivations), **_by_hand(plan, fact)}


def _by_hand(plan: Plan, fact: FactValue) -> dict[str, Any]:
    """Who changed a figure by hand; the client's plan names nobody."""
    change = plan.run.by_hand.get(fact.key)
    if change is None or fact.ruled is None:
        return {}
    said: dict[str, Any] = {"rules_say": fact.ruled}
    if plan.audience == "coach":
        written = change.as_written()
        said |= {name: written.get(name) for name in ("by", "reason", "since", "until")}
    return {"by_hand": said}


def _view(plan: Plan, name: str, view: Any) -> dict[str, Any]:
    """A composite: its grade and derivations are those of the facts it is made of."""
    part = COMPOSITE.get(name, name)
    made_of = [fact for key, fact in plan.run.facts.items() if split_key(key)[0] == part]
    ids = tuple(dict.fromkeys(d for fact in made_of for d in fact.derivations))
    grade = weakest([fact.grade for fact in made_of])
    return {"value": view, "unit": "1", "grade": grade, **_comes_from(ids)}


def _comes_from(derivations: tuple[str, ...]) -> dict[str, Any]:
    """The first derivation, and all of them where there are several."""
    shown: dict[str, Any] = {"derivation": derivations[0] if derivations else None}
    return shown | ({"derivations": derivations} if len(derivations) > 1 else {})


def _shown(plan: Plan) -> list[Derivation]:
    """The rules that fired, as far as this plan tells of them."""
    fired = list(plan.run.records.fired())
    # Under a stop nothing but the screen is shown, and the client sees what stands behind the page.
    if plan.audience == "client" or is_stopped(plan.run):
        fired = [r for r in fired if any(c.fact in plan.facts for c in r.conclusions)]
    return fired


def _house_numbers(records: Iterable[Derivation], narrator: Narrator) -> dict[str, Any]:
    kb, on = narrator.kb, narrator.on
    used = {name.partition("@")[0] for record in records for name in numbers_of(narrator, record)}
    found: dict[str, Any] = {}
    for name in sorted(used & kb.overlay.keys()):
        said, change = kb.book_says(name, on), kb.signed.get(name)
        if said is not None:
            found[name] = {"value": kb.overlay[name], "book_says": said}
            if narrator.audience == "coach" and change is not None:
                found[name] |= {each: getattr(change, each) for each in ("by", "day", "reason")}
    return found


def _derivation(record: Derivation, narrator: Narrator) -> dict[str, Any]:
    kept = set(ShownDerivation.model_fields) & set(vars(record))
    shown = {name: getattr(record, name) for name in kept} | {
        "rule": record.rule_id,
        "because": narrator.sentence(record),
        "conclusions": [item for item in record.conclusions if not narrator.hides(item.fact)],
    }
    if narrator.audience == "coach":
        shown["readings"] = [_reading(item, narrator) for item in record.readings]
    return shown


def _reading(reading: Reading, narrator: Narrator) -> dict[str, Any]:
    if any(map(narrator.hides, reading.tells_of)):
        return {"fact": reading.fact, "role": reading.role, "left_out": True}
    shown = {
        name: value for name, value in vars(reading).items() if name not in {"address", "against"}
    }
    if reading.margin is None:
        del shown["margin"]
    return {"at": reading.address, **shown}
