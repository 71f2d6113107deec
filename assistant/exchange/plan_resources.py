"""A person's plan as a FHIR R4 CarePlan, and the rule book behind it as a PlanDefinition."""

from assistant.exchange.bundle import collection, patient_resource
from assistant.exchange.portable import Portable
from assistant.exchange.terms import Json, stable_id
from assistant.model.derivation import word_in
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Line, Plan
from assistant.model.programme import Session
from assistant.model.rules import Rule

_PLAN_TYPE = "http://terminology.hl7.org/CodeSystem/plan-definition-type"


def plan_definition(kb: KnowledgeBase) -> Json:
    """Return the stages of the book in their order, each with its rules and what they rest on.

    Conditions are left to the rule cards and the DMN tables: FHIR has no language for them that tells
    an open answer from a no.
    """
    url = _url(kb)
    stages = [
        (stage, [r for r in kb.rules.values() if r.stage == stage]) for stage in kb.book.stages
    ]
    return {
        "resourceType": "PlanDefinition",
        "id": stable_id(url),
        "url": url,
        "version": kb.book.version,
        "name": "WhyplanRules",
        "title": kb.book.name,
        "type": {"coding": [{"system": _PLAN_TYPE, "code": "workflow-definition"}]},
        "status": "active",
        "action": [
            {"prefix": str(number), "title": stage, "action": [_rule(kb, rule) for rule in rules]}
            for number, (stage, rules) in enumerate(stages, start=1)
            if rules
        ],
    }


def _url(kb: KnowledgeBase) -> str:
    return f"{kb.exchange.base}/PlanDefinition/rules"


def _rule(kb: KnowledgeBase, rule: Rule) -> Json:
    house = f" (this house's own: {kb.house[rule.id].told})" if rule.id in kb.house else ""
    return {
        "id": rule.id,
        "prefix": rule.id,
        "title": rule.title,
        "description": f"Certainty {rule.grade.certainty.value}: {rule.grade.note}{house}",
        "documentation": [
            {"type": "citation", "label": use.supports, "citation": kb.sources[use.ref].cited}
            for use in rule.source
        ],
    }


def care_plan(kb: KnowledgeBase, plan: Plan, sent: Portable, identity: str) -> Json:
    """Return the person and the plan: its lines and sessions as this reader may see them.

    What is withheld is in no line. A plan that the screen stops is on hold.
    """
    patient = patient_resource(identity, sent.name)
    stopped = word_in(plan.facts, "screen.level") == "stop"
    day = sent.as_of.isoformat()
    made: Json = {
        "resourceType": "CarePlan",
        "id": stable_id(identity, "plan", day),
        "instantiatesCanonical": [f"{_url(kb)}|{kb.book.version}"],
        "status": "on-hold" if stopped else "active",
        "intent": "plan",
        "subject": {"reference": f"urn:uuid:{patient['id']}"},
        "period": {"start": day},
        "created": day,
        "activity": [
            *(_line(section.title, line) for section in plan.sections for line in section.lines),
            *(map(_session, plan.programme.sessions) if plan.programme else ()),
        ],
    }
    return collection(identity, sent.as_of, [patient, made])


def _detail(**more: object) -> Json:
    return {"detail": {"status": "not-started", **more}}


def _line(title: str, line: Line) -> Json:
    why = {"reasonCode": [{"text": line.reason}]} if line.reason else {}
    return _detail(code={"text": title}, description=line.text, **why)


def _session(session: Session) -> Json:
    weekly = {
        "repeat": {"frequency": 1, "period": 1, "periodUnit": "wk", "dayOfWeek": [session.day]}
    }
    lines = (
        f"{line.name}: {line.sets} x {line.low} to {line.high} {line.measure}"
        for line in session.lines
    )
    return _detail(
        code={"text": session.type}, scheduledTiming=weekly, description="; ".join(lines)
    )
