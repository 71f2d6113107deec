"""A person's answers and measures, or the dated measures of a record, as one FHIR R4 Bundle."""

import datetime as dt
import json
from collections.abc import Iterator, Mapping

from assistant.exchange.answer_items import answer_item
from assistant.exchange.measures import loinc_concept, observation, observations
from assistant.exchange.portable import Portable
from assistant.exchange.questionnaire import questionnaire, section_of
from assistant.exchange.terms import Json, quantity, questionnaire_url, stable_id
from assistant.model.case import Case
from assistant.model.history import History
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value


def response(kb: KnowledgeBase, sent: Portable, identity: str, person: str) -> Json:
    """Return the QuestionnaireResponse, in the groups of the Questionnaire."""
    sections = section_of(kb)
    groups: dict[str, list[Json]] = {}
    for fact in [f for f in sections if f in sent.answers]:
        item = answer_item(kb, fact, sent.answers[fact])
        groups.setdefault(sections[fact], []).append(item)
    is_open = any(
        sent.answers.get(fact, Status.UNKNOWN) is Status.UNKNOWN for fact in section_of(kb)
    )
    order = [section.id for section in kb.sections if section.id in groups]
    made: Json = {
        "resourceType": "QuestionnaireResponse",
        "id": stable_id(identity, "response", sent.as_of.isoformat()),
        "questionnaire": f"{questionnaire_url(kb)}|{kb.book.version}",
        "status": "in-progress" if is_open else "completed",
        "subject": {"reference": person},
        "authored": sent.as_of.isoformat(),
    }
    if order:
        made["item"] = [{"linkId": section, "item": groups[section]} for section in order]
    return made


def bundle(kb: KnowledgeBase, sent: Portable, identity: str, shown: Mapping[str, Value]) -> Json:
    """Return a collection: questions, person, answers, measures.

    identity: what tells this person from others; only a number made from it is written. shown:
    conclusions the coach may see, for measures that are worked out.
    """
    patient = patient_resource(identity, sent.name)
    person = f"urn:uuid:{patient['id']}"
    answers = response(kb, sent, identity, person)
    told_by = f"urn:uuid:{answers['id']}"
    measures = observations(kb, {**shown, **sent.answers}, person, sent.as_of, told_by)
    resources = [questionnaire(kb, sent.as_of), patient, answers, *measures]
    return collection(identity, sent.as_of, resources)


def patient_resource(identity: str, name: str) -> Json:
    """Return the person: a number made from the identity, and the name if it travels."""
    patient: Json = {"resourceType": "Patient", "id": stable_id(identity, "person")}
    if name:
        patient["name"] = [{"text": name}]
    return patient


def collection(identity: str, day: dt.date, resources: list[Json]) -> Json:
    """Return resources as one Bundle."""
    return {
        "resourceType": "Bundle",
        "id": stable_id(identity, "bundle", day.isoformat()),
        "type": "collection",
        "entry": [{"fullUrl": f"urn:uuid:{r['id']}", "resource": r} for r in resources],
    }


def json_bytes(document: Json) -> bytes:
    """Return a document as JSON, the same bytes for the same content."""
    return (json.dumps(document, ensure_ascii=False, indent=2) + "\n").encode()


_WEIGHT = "client.weight_kg"


def dated_bundle(
    kb: KnowledgeBase, case: Case, history: History, identity: str, *, with_name: bool
) -> Json | None:
    """Return the person and an Observation for each weight and girth; None where there is none.

    A girth whose LOINC code we are not sure of carries a code of our own. The site of the waist
    is the one answered in the case.
    """
    patient = patient_resource(identity, case.name if with_name else "")
    person = f"urn:uuid:{patient['id']}"
    found = [*_weights(kb, history, person), *_girths(kb, case, history, person)]
    return collection(identity, case.as_of, [patient, *found]) if found else None


def _weights(kb: KnowledgeBase, history: History, person: str) -> Iterator[Json]:
    (code,) = [code for code in kb.exchange.observations if code.fact == _WEIGHT]
    for weighing in history.weighings:
        about = {"valueQuantity": quantity(weighing.weight_kg, kb.facts[_WEIGHT].unit)}
        yield observation(person, weighing.day, loinc_concept(code), code.category, about)


def _girths(kb: KnowledgeBase, case: Case, history: History, person: str) -> Iterator[Json]:
    system = f"{kb.exchange.base}/CodeSystem/girth"
    for girth in history.girths:
        own = {"coding": [{"system": system, "code": girth.site}], "text": girth.site}
        fitting = [
            code
            for code in kb.exchange.observations
            if code.fact == f"client.{girth.site}_cm"
            and all(case.answers.get(fact) == value for fact, value in code.when.items())
        ]
        concept = loinc_concept(fitting[0]) if fitting else own
        about = {"valueQuantity": quantity(girth.girth_cm, "cm")}
        yield observation(person, girth.day, concept, "exam", about)
