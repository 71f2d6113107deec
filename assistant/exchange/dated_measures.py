"""Weights and girths of a client's record as dated FHIR R4 Observations."""

from collections.abc import Iterator

from assistant.exchange.bundle import collection, patient_resource
from assistant.exchange.measures import loinc_concept, observation
from assistant.exchange.terms import Json, base_url, quantity
from assistant.model.case import Case
from assistant.model.history import History
from assistant.model.knowledge import KnowledgeBase

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
    system = f"{base_url(kb)}/CodeSystem/girth"
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
